"""Prune advice for a storage limit, compared with rules of thumb by the boards that each would lose."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from inventory.core.codes import format_tag
from inventory.core.lengths import Display, format_length, mm_text
from inventory.core.offcuts import Offcut
from inventory.core.species import display_name
from inventory.pruning.advice import PIN_DAYS, Advice, Removal, advise, must_stay
from inventory.pruning.disposal import STOVE_CAUTION, disposals_for
from inventory.pruning.forecast import REPLICATIONS, Chance, Forecast
from inventory.pruning.loss import FillCount, Outcome, compare_counts, fill_counts
from inventory.pruning.reason_text import lost_text, reason_text
from inventory.pruning.rules_of_thumb import Rule, RuleKind, rules_for
from inventory.pruning.storage_limit import StorageLimit
from inventory.services.jobs import Progress
from inventory.services.pruning import forecasts
from inventory.services.pruning.forecasts import ForecastInputs
from inventory.services.rack import queries
from inventory.shop import Shop
from inventory.storage.repositories import prune_checklists as kept_walks
from inventory.storage.repositories import usual_boards as kept

CHECK_REPLICATIONS = 40
"""Fresh replications in which each prune list is judged."""
_FORECAST_SHARE = 0.5
ADVICE_VERSION = 1


@dataclass(frozen=True)
class RuleResult:
    """A rule of thumb and what it would lose; `outcome` is None where the work was stopped before it was judged."""

    rule: Rule
    outcome: Outcome | None


@dataclass(frozen=True)
class PruneResult:
    """The prune list. `whole` and `outcome` are what the whole rack and the kept pieces fill on fresh demand.

    Both are None where the work was stopped before they were judged.
    """

    storage_limit: StorageLimit
    advice: Advice
    forecast: Forecast
    rack: tuple[Offcut, ...]
    whole: Outcome | None
    outcome: Outcome | None
    rules: tuple[RuleResult, ...]

    @property
    def pieces(self) -> int:
        return sum(each.pieces for each in self.advice.going)

    @property
    def volume(self) -> int:
        """The volume of the prune list, whole mm³."""
        return sum(each.volume for each in self.advice.going)


def pinned(shop: Shop) -> frozenset[str]:
    """The codes of the pieces that are not proposed for now: each was pinned less than a year ago."""
    with shop.reading() as connection:
        return frozenset(kept.pinned(connection, shop.now()))


def pinned_until(shop: Shop, code: str) -> date | None:
    """The day from which the piece with this code may be proposed again, None where it is not pinned."""
    with shop.reading() as connection:
        at = kept.pinned(connection, shop.now()).get(code)
    return None if at is None else (at + timedelta(days=PIN_DAYS)).date()


def pin(shop: Shop, code: str, *, wanted: bool) -> str:
    """Pins a piece for a year or removes its pin; returns its code. Raises InvalidCode, NoSuchPiece."""
    with shop.writing() as connection:
        record = queries.get_piece(connection, code)
        if wanted:
            kept.pin(connection, [record.id], shop.now())
        else:
            kept.unpin(connection, record.id)
        return record.code


def compute_advice(
    asked: ForecastInputs,
    storage_limit: StorageLimit,
    pins: frozenset[str],
    forecasting: Generator[Progress, None, Forecast] | None,
    forecast: Forecast | None = None,
    *,
    replications: int = CHECK_REPLICATIONS,
) -> Generator[Progress, None, PruneResult]:
    """Makes the forecast where there is none, then the advice, then what it and each rule would lose.

    Stopped early, it has a result once some replications are done. Raises NothingToForecast.
    """
    begin = 0.0
    if forecast is None:
        if forecasting is None:
            raise ValueError("neither a forecast nor a way to one")
        begin = _FORECAST_SHARE
        forecast = yield from _forecast_steps(
            forecasting, lambda so_far: _provisional(asked, storage_limit, pins, so_far)
        )
    answer = _provisional(asked, storage_limit, pins, forecast)
    racks = [asked.rack, answer.advice.kept, *(rule_results.rule.kept for rule_results in answer.rules)]
    counts: list[list[FillCount]] = []
    for number, rack in enumerate(racks):
        counts.append([])
        if number and rack == asked.rack:
            counts[-1] = counts[0]
            continue
        for count in fill_counts(rack, asked.boards, asked.on, asked.arrivals, replications):
            counts[-1].append(count)
            done = (number + len(counts[-1]) / replications) / len(racks)
            yield Progress(begin + (1 - begin) * done, f"{_stage_text(number)}: what it would lose", answer)
        answer = _with_outcomes(answer, counts)
    return answer


def _stage_text(number: int) -> str:
    return ("the whole rack", "the advice")[number] if number < 2 else f"rule of thumb {number - 1}"


def _with_outcomes(answer: PruneResult, counts: Sequence[Sequence[FillCount]]) -> PruneResult:
    outcomes = [compare_counts(counts[0], own) for own in counts]
    rules = tuple(
        RuleResult(rule_results.rule, outcomes[place + 2] if place + 2 < len(outcomes) else None)
        for place, rule_results in enumerate(answer.rules)
    )
    return PruneResult(
        answer.storage_limit,
        answer.advice,
        answer.forecast,
        answer.rack,
        outcomes[0],
        outcomes[1] if len(outcomes) > 1 else None,
        rules,
    )


def _provisional(
    asked: ForecastInputs, storage_limit: StorageLimit, pins: frozenset[str], forecast: Forecast
) -> PruneResult:
    rule_results = tuple(RuleResult(rule, None) for rule in rules_for(asked.rack, storage_limit, asked.on, pins))
    return PruneResult(
        storage_limit, advise(asked.rack, forecast, storage_limit, pins), forecast, asked.rack, None, None, rule_results
    )


def _forecast_steps(
    forecasting: Generator[Progress, None, Forecast], advised: Callable[[Forecast], PruneResult]
) -> Generator[Progress, None, Forecast]:
    """Makes the forecast; as it grows, the advice so far is yielded with the progress."""
    answer: PruneResult | None = None
    enough = 0
    try:
        while True:
            try:
                step = next(forecasting)
            except StopIteration as end:
                found: Forecast = end.value
                return found
            so_far = step.so_far
            if isinstance(so_far, Forecast) and so_far.replications >= enough:
                answer, enough = advised(so_far), 2 * so_far.replications
            message = f"{step.message}, so far {answer.pieces} of the pieces may go" if answer else step.message
            yield Progress(step.share * _FORECAST_SHARE, message, answer)
    finally:
        forecasting.close()


def prune_rack(
    shop: Shop, storage_limit: StorageLimit, *, with_arrivals: bool, replications: int = REPLICATIONS
) -> Generator[Progress, None, PruneResult]:
    """The advice for the shop's rack, with the stored forecast while it holds. Raises NothingToForecast."""
    asked = forecasts.basis(shop, with_arrivals=with_arrivals)
    latest = forecasts.latest(shop)
    holds = latest is not None and not latest.stale_reason and latest.with_arrivals == with_arrivals
    forecast = latest.forecast if latest is not None and holds else None
    forecasting = None if forecast is not None else forecasts.run_forecast(shop, asked, replications=replications)
    return compute_advice(asked, storage_limit, pinned(shop), forecasting, forecast)


def create_checklist(shop: Shop, answer: PruneResult) -> int:
    """Makes a checklist from the advice and closes the open one; returns its number.

    Pieces that are gone or on hold by now are left out.
    """
    with shop.writing() as connection:
        under_way = kept_walks.open_checklist(connection)
        now: datetime = shop.now()
        if under_way is not None:
            kept_walks.close_checklist(connection, under_way.id, now)
        pins = kept.pinned(connection, now)
        entries = []
        records = queries.get_pieces(connection, [going.offcut.tag for going in answer.advice.going])
        for going, record in zip(answer.advice.going, records, strict=True):
            if record.free >= going.pieces and not must_stay(record.offcut, pins):
                entries.append((record.id, going.pieces, reason_text(going)))
        document: dict[str, Any] = {"pieces": sum(pieces for _, pieces, _ in entries)}
        if answer.outcome is not None:
            document["lost"] = lost_text(answer.outcome)
        return kept_walks.insert_checklist(connection, now, document, entries)


def rule_text(rule: Rule, display: Display) -> str:
    """A rule of thumb in words."""
    match rule.kind:
        case RuleKind.SHORTER | RuleKind.NARROWER if rule.below is not None:
            return f"{rule.kind.value} {format_length(rule.below, display)}"
        case RuleKind.OLDER:
            return f"{rule.kind.value} {rule.days} days"
        case _:
            return f"species not kept: {', '.join(map(display_name, rule.species))}"


def answer_document(answer: PruneResult, display: Display) -> dict[str, Any]:
    """The advice as JSON, for `rackful prune --json`, whose help explains each key."""
    forecast = answer.forecast
    return {
        "prune": ADVICE_VERSION,
        "simulated_years": forecast.years,
        "rack_pieces": sum(each.count for each in answer.rack),
        "room_taken": answer.storage_limit.space_used(answer.rack),
        "fits": answer.advice.fits,
        "let_go": [_going_document(each) for each in answer.advice.going],
        "keep": [{"tag": each.tag, "pieces": each.count} for each in answer.advice.kept],
        "chances": {tag: _chance_documents(forecast, tag) for tag in forecast.tags},
        "whole_rack": _outcome_document(answer.whole),
        "kept": _outcome_document(answer.outcome),
        "rules": [
            {"rule": rule_text(each.rule, display), "pieces": each.rule.pieces, "kept": _outcome_document(each.outcome)}
            for each in answer.rules
        ],
        "boards": [{"name": each.name, "asked": each.asked, "filled": each.filled} for each in forecast.boards],
        "cautions": [STOVE_CAUTION] if answer.advice.going else [],
    }


def _going_document(going: Removal) -> dict[str, Any]:
    offcut = going.offcut
    return {
        "tag": offcut.tag,
        "shown": format_tag(offcut.tag),
        "pieces": going.pieces,
        "of": offcut.count,
        "species": offcut.species,
        "length_mm": mm_text(offcut.length),
        "width_mm": mm_text(offcut.width),
        "thickness_mm": mm_text(offcut.thickness),
        "location": offcut.location,
        "chance": _chance_document(going.chance),
        "others_that_stay": going.similar_kept,
        "reason": reason_text(going),
        "ways": [way.value for way in disposals_for(offcut)],
    }


def _chance_document(chance: Chance) -> dict[str, Any]:
    return {
        "times": chance.successes,
        "of": chance.trials,
        "share": round(chance.share, 4),
        "error": round(chance.error, 4),
    }


def _chance_documents(forecast: Forecast, tag: str) -> dict[str, Any]:
    return {
        "12_months": _chance_document(forecast.chance(tag, years=1)),
        "24_months": _chance_document(forecast.chance(tag, years=2)),
    }


def _outcome_document(outcome: Outcome | None) -> dict[str, Any] | None:
    if outcome is None:
        return None
    return {
        "asked": outcome.asked,
        "filled": outcome.filled,
        "share": round(outcome.share, 4),
        "lost_points": round(outcome.lost, 2),
        "error_points": round(outcome.error, 2),
    }
