"""Counting of trials: what was tried, and the words for what failed."""

RESULTS = {"passed": 0, "failed": 0}


def check(words, good):
    """Counts one check and tells it where it fails."""
    RESULTS["passed" if good else "failed"] += 1
    if not good:
        print(f"FAILED {words}")


def near(words, got, want, relative=1e-5, absolute=1e-12):
    """A figure against another."""
    check(f"{words}: got {got}, want {want}", abs(got - want) <= max(relative * abs(want), absolute))
