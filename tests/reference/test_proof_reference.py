"""Clean cycles against tables of reliability handbooks and exact intervals of scipy."""

import pytest


@pytest.fixture(scope="module")
def proof(twin):
    return twin("pwa.engine.proof")


@pytest.fixture(scope="module")
def stats():
    from scipy import stats  # here: it takes seconds, and each core reads every test

    return stats


# The success-run table of reliability handbooks: sample size without failure for reliability / confidence.
@pytest.mark.parametrize(
    ("reliability", "confidence", "cycles"),
    [(0.90, 0.90, 22), (0.90, 0.95, 29), (0.95, 0.95, 59), (0.80, 0.95, 14), (0.99, 0.95, 299)],
)
def test_the_success_run_table(proof, reliability, confidence, cycles):
    assert proof.cycles_needed(reliability, confidence) == cycles


@pytest.mark.parametrize(("clean", "bound"), [(3, 0.632), (5, 0.451), (10, 0.259), (20, 0.139), (30, 0.095)])
def test_what_clean_cycles_allow_is_the_exact_binomial_bound(proof, stats, clean, bound):
    """Clopper & Pearson (1934), one-sided 95 %, as scipy computes it in two ways."""
    found = proof.still_possible(clean, 0.95)
    assert found == pytest.approx(bound, abs=5e-4)
    assert found == pytest.approx(stats.beta.ppf(0.95, 1, clean), rel=1e-9)
    interval = stats.binomtest(0, clean, alternative="less").proportion_ci(0.95, method="exact")
    assert found == pytest.approx(interval.high, rel=1e-9)


@pytest.mark.parametrize(("rate", "clean", "chance"), [(0.2, 10, 0.107), (0.5, 5, 0.031), (0.1, 20, 0.122)])
def test_luck_worked_by_hand(proof, rate, clean, chance):
    """The binomial chance of no event: 0.8^10, 0.5^5, 0.9^20."""
    assert proof.luck(rate, clean) == pytest.approx(chance, abs=5e-4)


@pytest.mark.parametrize(("failures", "cycles", "clean"), [(2, 10, 10), (1, 5, 20), (5, 5, 3), (3, 40, 59)])
def test_luck_of_what_was_seen_is_fishers_exact_test(proof, stats, failures, cycles, clean):
    """scipy's fisher_exact, one-sided, on the table of shown and not shown, before and after."""
    table = [[failures, cycles - failures], [0, clean]]
    theirs = stats.fisher_exact(table, alternative="greater").pvalue
    assert proof.luck_seen(failures, cycles, clean) == pytest.approx(theirs, rel=1e-9)
