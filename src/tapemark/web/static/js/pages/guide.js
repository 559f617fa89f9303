// Figures that are drawn anew while a slider or a grip moves. One drawing at a time is asked for;
// what moved meanwhile is asked for next. Without this a button sends the form.

const SVG = "http://www.w3.org/2000/svg";

class Topic {
  #section;
  #form;
  #busy = false;
  #again = false;

  constructor(section) {
    this.#section = section;
    this.#form = section.querySelector("form");
    this.#form.querySelector("[data-draw]").hidden = true;
    const reset = this.#form.querySelector("[data-reset]");
    reset.hidden = false;
    reset.addEventListener("click", () => {
      this.#form.reset();
      this.ask();
    });
    this.#form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.ask();
    });
    this.#form.addEventListener("input", () => this.ask());
    for (const svg of section.querySelectorAll("svg")) this.#fit(svg);
    for (const svg of section.querySelectorAll("[data-grip]")) this.#hold(svg);
  }

  async ask() {
    if (this.#busy) {
      this.#again = true;
      return;
    }
    this.#busy = true;
    const asked = new URLSearchParams(new FormData(this.#form));
    asked.delete("topic");
    const late = setTimeout(() => this.#section.classList.add("waiting"), 400);
    try {
      const answer = await fetch(`/guide/${this.#section.dataset.topic}/figure?${asked}`, {
        headers: { accept: "application/json" },
      });
      const found = await answer.json();
      if (answer.ok) this.#show(found);
      else this.#say([found.error.text]);
    } catch {
      this.#say(["tapemark is away: the figure stays as it was."]);
    } finally {
      clearTimeout(late);
      this.#section.classList.remove("waiting");
      this.#busy = false;
    }
    if (this.#again) {
      this.#again = false;
      this.ask();
    }
  }

  #show(figure) {
    const drawn = [...this.#section.querySelectorAll("svg")];
    figure.panels.forEach((panel, index) => {
      const svg = drawn[index];
      if (!svg) return;
      const fresh = new DOMParser().parseFromString(
        `<svg xmlns="${SVG}">${panel.svg}</svg>`,
        "image/svg+xml",
      );
      svg.replaceChildren(...[...fresh.documentElement.childNodes].map((one) => document.adoptNode(one)));
      svg.setAttribute("viewBox", panel.box);
      svg.setAttribute("aria-label", `${panel.title}. ${figure.words.join(" ")}`);
      if (panel.grip) svg.dataset.grip = panel.grip.join(" ");
      this.#place(svg);
    });
    for (const [key, { words }] of Object.entries(figure.values)) {
      const output = this.#section.querySelector(`[data-value="${key}"]`);
      if (!output) continue;
      output.textContent = words;
      this.#form.elements[key].setAttribute("aria-valuetext", words);
    }
    this.#say(figure.words, figure.verdict);
  }

  #say(words, verdict) {
    const found = this.#section.querySelector("[data-found]");
    const lines = words.map((text) => {
      const line = document.createElement("p");
      line.textContent = text;
      return line;
    });
    if (verdict) {
      const mark = document.createElement("p");
      mark.className = "verdict";
      mark.dataset.verdict = verdict;
      mark.textContent = verdict;
      lines.unshift(mark);
    }
    found.replaceChildren(...lines);
  }

  // Type keeps its size whatever the width of the drawing.
  #fit(svg) {
    if (!svg.classList.contains("to-scale")) return;
    new ResizeObserver(() => {
      const matrix = svg.getScreenCTM();
      if (matrix) svg.style.setProperty("--px", (1 / matrix.a).toFixed(3));
    }).observe(svg);
  }

  #hold(svg) {
    const grip = document.createElement("button");
    grip.type = "button";
    grip.className = "grip";
    grip.tabIndex = -1; // the sliders are for keys
    grip.setAttribute("aria-hidden", "true");
    svg.parentElement.append(grip);
    grip.addEventListener("pointerdown", (event) => {
      grip.setPointerCapture(event.pointerId);
      grip.dataset.held = "";
      event.preventDefault();
    });
    grip.addEventListener("pointermove", (event) => {
      if ("held" in grip.dataset) this.#move(svg, event);
    });
    for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
      grip.addEventListener(end, () => {
        delete grip.dataset.held;
        this.#place(svg);
      });
    }
    new ResizeObserver(() => this.#place(svg)).observe(svg);
  }

  #move(svg, event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const grip = svg.parentElement.querySelector(".grip");
    const box = svg.parentElement.getBoundingClientRect();
    for (const { knob, way, at: zero, per } of JSON.parse(svg.dataset.drags)) {
      if (way === "x") grip.style.left = `${event.clientX - box.left}px`;
      if (way === "y") grip.style.top = `${event.clientY - box.top}px`;
      const turn = (Math.atan2(-at.x, at.y) * 180) / Math.PI;
      const value = way === "around" ? turn : zero + per * (way === "x" ? at.x : at.y);
      this.#form.elements[knob].value = value;
    }
    this.ask();
  }

  #place(svg) {
    const grip = svg.parentElement.querySelector(".grip");
    if (!grip || ("held" in grip.dataset && !svg.dataset.drags.includes("around"))) return;
    const [x, y] = svg.dataset.grip.split(" ").map(Number);
    const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
    const held = svg.parentElement;
    const box = held.getBoundingClientRect();
    grip.style.left = `${at.x - box.left - held.clientLeft}px`;
    grip.style.top = `${at.y - box.top - held.clientTop}px`;
  }
}

for (const section of document.querySelectorAll("[data-topic]")) new Topic(section);
