"""Run the shared tests on MicroPython: every `test_*` function of every `test_*.py` here.

    micropython -X heapsize=640k tests/shared/run.py PROTOCOL_DIR FIRMWARE_DIR [FILE ...]

Nothing is listed by hand, so no test can be forgotten. The last line is `N passed, M failed`.
"""

import os
import sys

HERE = __file__.rpartition("/")[0] or "."


def _tests_in(module):
    return sorted([name for name in dir(module) if name.startswith("test_")])


def _run_one(module, name):
    try:
        getattr(module, name)()
    except Exception as error:  # the runner's outermost loop: report, go on, fail at the end
        print("FAILED", module.__name__ + "." + name)
        sys.print_exception(error)
        return False
    return True


def main(arguments):
    """Run, report, and return the number of failures."""
    sys.path[:0] = [HERE] + arguments[:2]
    names = arguments[2:] or sorted(os.listdir(HERE))
    passed = failed = 0
    for file in names:
        if not (file.startswith("test_") and file.endswith(".py")):
            continue
        module = __import__(file[:-3])
        for name in _tests_in(module):
            if _run_one(module, name):
                passed += 1
            else:
                failed += 1
    print("%d passed, %d failed" % (passed, failed))
    return failed


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1:]) else 0)
