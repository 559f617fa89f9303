"""The project's own files, for tests about the project itself."""

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
NOT_OURS = {".git", ".venv", "dist", "tapemark-demo", "__pycache__"}


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def project_files() -> list[Path]:
    """Every file that is, or would be, under version control."""
    listing = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=False,
        text=True,
    )
    if listing.returncode == 0 and listing.stdout:
        files = [ROOT / name for name in listing.stdout.split("\0") if name]
    else:  # an unpacked archive, or a folder git does not trust
        files = [
            path
            for path in ROOT.rglob("*")
            if not any(
                part in NOT_OURS or part.endswith("_cache") for part in path.relative_to(ROOT).parts
            )
        ]
    return sorted(path for path in files if path.is_file())


@pytest.fixture(scope="session")
def project_texts(project_files: list[Path]) -> dict[str, str]:
    """Text of every readable project file by its path from the root; pictures are left out."""
    texts = {}
    for path in project_files:
        content = path.read_bytes()
        if b"\0" not in content:
            texts[path.relative_to(ROOT).as_posix()] = content.decode("utf-8")
    return texts
