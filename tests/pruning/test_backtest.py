"""The advice helps: small seeded shops (`python -m tests.bench pruning` does thirty large ones)."""

from statistics import mean

from tests.pruning.backtest import OURS, WHOLE, backtest, summary


def test_our_advice_beats_every_plain_rule_and_loses_at_most_two_points_of_the_whole_rack() -> None:
    text = list(backtest(range(4), drawn=24, fresh=6, tags=70))
    points = {way: mean(each.points(way) for each in text) for way in text[0].outcomes}
    assert points[WHOLE] - points[OURS] <= 2
    assert {way for way in points if points[way] >= points[OURS]} <= {WHOLE, OURS}
    assert len(list(summary(text))) == 2 + len(points)


def test_the_same_seed_says_the_same() -> None:
    one, other = (list(backtest([7], drawn=6, fresh=3, tags=30)) for _ in range(2))
    assert one == other
