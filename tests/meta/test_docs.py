"""What the documents promise is there."""

import re
import runpy
import tomllib
from collections.abc import Callable
from typing import NamedTuple

import pytest
from click import Group

import tapemark
from tapemark import cli
from tapemark.cli.main import commands

OWN_WORDS = """
    setup; closed; open; veil; lens cover; verdict; clear; edge; veiled; move; sightline map;
    walk-in share; marks; run order
"""
TRADE_WORDS = """
    key; fill; hair light; rim light; background light; kicker; reflector; flag; softbox; strip;
    octagonal box; umbrella; beauty dish; reflector dish; grid; snoot; gel; boom; stool; backdrop;
    catchlight; broad lighting; short lighting; butterfly; loop; Rembrandt; split; clamshell;
    lighting ratio; incident reading; guide number; mired; boxed lens width; boxed lens height;
    bridge; pantoscopic tilt; face-form angle; vertex distance; back vertex power; base curve;
    camera-left; camera-right
"""
COMMANDS = re.compile(r"(?:^|`)(?:\$ )?(?:python -m )?tapemark ([a-z][^`\n]*)", re.MULTILINE)
TARGETS = re.compile(r"(?:^|`)(?:\$ )?make ([a-z]+)", re.MULTILINE)


def words(text: str) -> list[str]:
    return [word.strip() for word in text.split(";")]


def code_in(markdown: str) -> str:
    """Return the fenced blocks and the spans in backticks, one after the other."""
    fenced = re.findall(r"^```[^\n]*\n(.*?)^```", markdown, re.DOTALL | re.MULTILINE)
    return "\n".join(fenced + re.findall(r"`[^`\n]+`", markdown))


class Answer(NamedTuple):
    status: int
    printed: str


@pytest.fixture
def run_tapemark(monkeypatch, capsys) -> Callable[[list[str]], Answer]:
    """Run the command line in this process, as the installed command would."""

    def run(arguments: list[str]) -> Answer:
        monkeypatch.setattr("sys.argv", ["tapemark", *arguments])
        capsys.readouterr()
        with pytest.raises(SystemExit) as end:
            cli.main()
        return Answer(end.value.code, capsys.readouterr().out)

    return run


@pytest.fixture(scope="module")
def documents(project_texts) -> dict[str, str]:
    return {name: text for name, text in project_texts.items() if name.endswith(".md")}


@pytest.mark.parametrize("word", words(OWN_WORDS + ";" + TRADE_WORDS))
def test_glossary_defines_each_word_once(word, documents):
    defined = re.findall(r"^\*\*([^*]+)\*\*", documents["docs/glossary.md"], re.MULTILINE)
    names = [name for entry in defined for name in re.split(r", | / ", entry)]
    assert names.count(word) == 1


def test_readme_is_short_and_plain(documents):
    readme = documents["README.md"]
    assert readme.count("\n") <= 120
    assert "![" not in readme.split("\n## ")[0]  # no badge wall over the first paragraph


def example_in(document: str) -> tuple[str, str, str]:
    """The setup, the command and the output that a document shows."""
    setup, command, output = re.search(
        r"^```toml\n(.*?)^```.*?^```\n\$ tapemark ([^\n]+)\n(.*?)^```",
        document,
        re.DOTALL | re.MULTILINE,
    ).groups()
    return setup, command, output


@pytest.fixture
def example_printed(documents, run_tapemark, tmp_path) -> str:
    setup, command, _ = example_in(documents["docs/example.md"])
    path = tmp_path / command.split()[-1]
    path.write_text(setup, encoding="utf-8")
    return run_tapemark([command.split()[0], str(path)]).printed.strip()


def test_the_whole_example_gives_the_output_shown(documents, example_printed):
    assert example_in(documents["docs/example.md"])[2].strip() == example_printed


def test_readme_shows_parts_of_the_same_example_in_their_order(documents, example_printed):
    readme, whole = (example_in(documents[name]) for name in ("README.md", "docs/example.md"))
    assert readme[:2] == whole[:2]
    parts = re.split(r"^  \.\.\.\n", readme[2], flags=re.MULTILINE)
    assert len(parts) > 2
    rest = f"{example_printed}\n"
    for part in filter(None, parts):
        before, found, rest = rest.partition(part)
        assert found == part, before[:80]


def test_make_targets_in_documents_exist(documents, project_texts):
    targets = set(re.findall(r"^([a-z ]+):", project_texts["Makefile"], re.MULTILINE))
    known = {target for line in targets for target in line.split()}
    named = {name for text in documents.values() for name in TARGETS.findall(code_in(text))}
    assert {"demo", "test"} <= named <= known


def test_commands_in_documents_exist(documents, run_tapemark):
    named = {line for text in documents.values() for line in COMMANDS.findall(code_in(text))}
    assert named
    for line in named:
        command, *rest = line.split()
        verbs = [command]
        if isinstance(commands.commands.get(command), Group) and rest:
            verbs.append(rest.pop(0))
        answer = run_tapemark([*verbs, "--help"])
        assert answer.status == 0, f"tapemark {line}"
        options = set(re.findall(r"--[a-z-]+", " ".join(rest)))
        assert {option for option in options if option not in answer.printed} == set(), line


def test_links_between_documents_lead_somewhere(documents, root):
    for name, text in documents.items():
        for target in re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", text):
            assert ((root / name).parent / target).exists(), f"{name}: {target}"


def test_changelog_speaks_of_this_version(documents):
    assert f"## [{tapemark.__version__}]" in documents["CHANGELOG.md"]


def test_layer_table_is_the_one_that_is_enforced(documents, project_texts):
    contracts = tomllib.loads(project_texts["pyproject.toml"])["tool"]["importlinter"]["contracts"]
    enforced = [re.sub(r"[()]", "", line) for line in contracts[0]["layers"]]
    section = documents["CONTRIBUTING.md"].partition("## Layers")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (`[^|]+`) \|", section, re.MULTILINE)
    assert [" | ".join(re.findall(r"`(\w+)`", row)) for row in rows] == enforced[1:]


def test_drawing_of_the_frames_is_what_its_script_draws(project_texts, root):
    script = runpy.run_path(str(root / "scripts" / "draw_frames.py"))
    assert script["drawing"]() == project_texts["docs/frames.svg"]
