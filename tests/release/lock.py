"""Write requirements.lock from this environment; with `--check`, compare.

    pip install -e ".[test]" && python tests/release/lock.py      in a new environment
    python tests/release/lock.py --check

A check fails when the lock lacks a package, names one that nothing takes, or holds a version
that pyproject.toml does not want. A version that merely differs from the one installed here is
told, not failed: packages come out every day, and the lock says with which all checks passed.
"""

import sys
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from packages import PROGRAM, ROOT, TEST, found, project, used_for

LOCK = ROOT / "requirements.lock"
HEAD = """\
# Exact versions of an environment in which every check passed: Debian 12, Python 3.11, x86-64.
# Use: pip install -c requirements.lock -e ".[test]". DEVELOPERS.md says when.
# Made by: python tests/release/lock.py
"""


def locked() -> dict[str, str]:
    """Canonical name to version, as the file has it. Raises ValueError for a bad line."""
    pairs = {}
    for line in LOCK.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            name, version = line.split("==")
            pairs[canonicalize_name(name)] = version
    return pairs


def made() -> str:
    """The lock of what is installed here. Raises PackageNotFoundError."""
    lines = [f"{found(name).name}=={found(name).version}" for name in used_for()]
    return HEAD + "".join(line + "\n" for line in lines)


def wrong(lock: Mapping[str, str]) -> list[str]:
    """Sentences about what makes a lock useless."""
    due = used_for()
    said = [f"{due[name][0]} is not in the lock." for name in sorted(set(due) - set(lock))]
    said += [f"{name} is in the lock; nothing takes it." for name in sorted(set(lock) - set(due))]
    for one in (Requirement(text) for part in (PROGRAM, TEST) for text in project()[part]):
        version = lock.get(canonicalize_name(one.name))
        if version is not None and not one.specifier.contains(version, prereleases=True):
            said.append(f"{one.name} is locked at {version}; pyproject.toml asks {one.specifier}.")
    return said


def drifted(lock: Mapping[str, str]) -> list[str]:
    """Sentences about versions that differ from those installed here."""
    names = [name for name in used_for() if name in lock and found(name).version != lock[name]]
    return [f"{name}: locked {lock[name]}, here {found(name).version}" for name in names]


def main() -> int:
    """Write, or compare; 1 when the lock is of no use, or a package is missing here."""
    try:
        used_for()
    except PackageNotFoundError as missing:
        print(f'{missing.name} is missing here: pip install -e ".[test]"')
        return 1
    if "--check" not in sys.argv[1:]:
        LOCK.write_text(made(), encoding="utf-8")
        return 0
    bad = wrong(locked())
    print("\n".join([*bad, *drifted(locked())]))
    return int(bool(bad))


if __name__ == "__main__":
    sys.exit(main())
