"""Why nothing comes out, in sentences."""

import pytest

from inventory.printers.reasons import describe_reasons


@pytest.mark.parametrize(
    ("keywords", "said", "sentence"),
    [
        (["none"], "", ""),
        (["job-printing", "job-completed-successfully"], "", ""),
        (["media-empty-error"], "", "It has no paper or labels left."),
        (["media-jam", "media-jam-error", "door-open-warning"], "", "Paper is jammed in it. A door of it is open."),
        (["marker-supply-low-report"], "", ""),
        (["lamp-fuse-gone-error"], "", "It says “lamp fuse gone”."),
        (["aborted-by-system"], " Out of memory. ", "CUPS gave it up. It says: “Out of memory”."),
        ([], "Paused", "It says: “Paused”."),
    ],
)
def test_a_printers_words_are_reported_once_each(keywords: list[str], said: str, sentence: str) -> None:
    assert describe_reasons(keywords, said) == sentence
