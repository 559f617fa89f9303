"""Rules for the files of the project as a whole."""

import re
import tomllib

MOST_LINES = 600
CODE = (".py", ".js", ".css")
LOCKS = ("requirements.lock", "requirements-run.lock")
# In pieces, so that this file does not break the rule it checks.
MACHINE_FOLDERS = ("work", "farm", "root", "home", "tmp", "Users")
REGISTRY_HOSTS = (("pypi", "org"), ("pythonhosted", "org"), ("python", "org", "pypi"))


def test_no_module_is_too_long(project_texts):
    too_long = {
        name: text.count("\n")
        for name, text in project_texts.items()
        if name.endswith(CODE) and text.count("\n") > MOST_LINES
    }
    assert too_long == {}


def test_no_file_names_a_folder_of_somebodys_machine(project_texts):
    folders = "|".join(MACHINE_FOLDERS)
    pattern = re.compile(rf"(?<![\w.}}*])/(?:{folders})/\w|[A-Z]:\\\\?(?:{folders})\b")
    found = {name: pattern.findall(text) for name, text in project_texts.items()}
    assert {name: hits for name, hits in found.items() if hits} == {}


def test_no_file_names_a_package_registry(project_texts):
    hosts = [".".join(pieces) for pieces in REGISTRY_HOSTS]
    found = {name: [host for host in hosts if host in text] for name, text in project_texts.items()}
    assert {name: hits for name, hits in found.items() if hits} == {}


def pins_of(lock: str) -> dict[str, set[str]]:
    """Versions pinned for each package; more than one where they differ by Python version."""
    pins: dict[str, set[str]] = {}
    for name, version in re.findall(r"^([a-z0-9-]+)==([^ ;]+)", lock, re.MULTILINE):
        pins.setdefault(name, set()).add(version)
    return pins


def plain(requirement: str) -> str:
    """Name of the package in a requirement, as a lock writes it."""
    return re.match(r"[A-Za-z0-9_.-]+", requirement)[0].lower().replace("_", "-")


def test_locks_name_no_server_and_pin_by_hash(project_texts):
    for lock in LOCKS:
        text = project_texts[lock]
        assert "://" not in text
        assert re.findall(r"^-", text, re.MULTILINE) == []  # no options such as an index
        for entry in re.split(r"\n(?=[a-z])", text)[1:]:
            assert "--hash=sha256:" in entry, f"{lock}: {entry}"


def test_locks_hold_what_the_project_asks_for(project_texts):
    project = tomllib.loads(project_texts["pyproject.toml"])
    everything, to_run = (pins_of(project_texts[lock]) for lock in LOCKS)
    run = {plain(requirement) for requirement in project["project"]["dependencies"]}
    groups = project["dependency-groups"]
    build = {plain(requirement) for requirement in groups["build"]}
    dev = {plain(requirement) for requirement in groups["dev"] if isinstance(requirement, str)}
    assert run | build <= set(to_run)
    assert run | build | dev <= set(everything)
    assert {name: everything[name] for name in to_run} == to_run
