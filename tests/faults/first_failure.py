"""Run the tests of some files, none of which needs a fixture, and stop at the first that fails.

    python tests/faults/first_failure.py FOLDER NAME ...

Exit code 1 when one failed. What pytest adds is not needed to know that, and starting it takes
longer than most of these files.
"""

import importlib
import sys


def main(folder: str, names: list[str]) -> int:
    """Run every `test_*` function of the modules in `folder`."""
    sys.path.insert(0, folder)
    for name in names:
        module = importlib.import_module(name)
        for test in [value for key, value in vars(module).items() if key.startswith("test_")]:
            try:
                test()
            except Exception as failure:  # whatever it is, the mutant was noticed
                print(f"{name}.{test.__name__}: {failure!r}")
                return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
