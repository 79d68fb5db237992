"""A fill of several glue-ups on the pages: each is drawn with its steps, and an end-grain board is glued twice."""

from dataclasses import replace

from inventory.core.lengths import Display, inches
from inventory.core.workshop import Workshop
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.answer import fill_rack
from inventory.web.bench.answer_view import FillView, build_fill_view
from inventory.web.drawings.hatching import HatchPatterns
from tests.fill.banded import PLAIN, RACK, STRIPED


def shown(request: BoardRequest) -> FillView:
    plan = fill_rack(RACK, request)
    hatchings = HatchPatterns.of(piece.species for piece in RACK)
    return build_fill_view(plan.fills[0], plan.request, Workshop(), Display(), hatchings, "set-1")


def headings(text: FillView) -> list[str]:
    return [each.heading for each in text.glue_ups] + [each.heading for each in text.sliced]


def test_a_single_board_has_one_glue_up() -> None:
    assert headings(shown(PLAIN)) == ["The glue-up"]


def test_boards_of_a_batch_are_reported_one_after_the_other() -> None:
    assert headings(shown(replace(PLAIN, count=3))) == ["Board 1 of 3", "Board 2 of 3", "Board 3 of 3"]


def test_an_end_grain_board_is_glued_twice() -> None:
    end_grain = replace(PLAIN, grain=Grain.END)
    assert headings(shown(end_grain)) == ["The panel", "The second glue-up"]
    two = replace(end_grain, panel=PanelSpec(Grain.EDGE, 2))
    assert headings(shown(two)) == ["Panel 1 of 2", "Panel 2 of 2", "The second glue-up"]


def test_every_drawing_of_a_fill_has_an_id_of_its_own() -> None:
    text = shown(replace(PLAIN, count=2, grain=Grain.END, length=inches("9")))
    assert headings(text)[-1] == "Board 2: the second glue-up"
    drawings = [each.drawing for each in text.pieces] + [each.drawing for each in text.glue_ups]
    drawings += [drawing for each in text.sliced for drawing in (each.slicing, each.drawing)]
    titles = [drawing.split('<title id="')[1].split('"')[0] for drawing in drawings]
    assert len(set(titles)) == len(titles)


def test_resawn_strips_are_drawn_and_counted() -> None:
    text = shown(STRIPED)
    assert [group.offcut.species for group in text.pieces if group.resawing] == ["cherry"]
    glued = sum(len(each.strips) for each in text.glue_ups)
    assert text.fill.strips < glued
    assert text.strips == f"{text.fill.strips} strips ripped, {glued} glued up"
    assert ("Strips", f"{text.fill.strips} ripped, {glued} glued up") in text.figures
    assert dict(text.figures)["Resaws"] == "3"
