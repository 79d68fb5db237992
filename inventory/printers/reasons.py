"""Why a printer is stopped or a job failed, in words: the keywords of RFC 8011, 5.3.8 and 5.4.12, and of CUPS.

An unknown keyword is shown without its hyphens.
"""

from __future__ import annotations

from collections.abc import Sequence

_IGNORED = {
    "none", "job-incoming", "job-printing", "job-queued", "job-transforming", "job-outgoing", "job-spooling",
    "processing-to-stop-point", "job-data-insufficient", "queued-in-device", "job-completed-successfully",
    "cups-remote-pending", "cups-remote-processing", "cups-remote-completed", "cups-remote-pending-held",
    "cups-waiting-for-job-completed", "connecting-to-device", "moving-to-paused",
}  # fmt: skip
_MESSAGES = {
    "media-empty": "It has no paper or labels left.",
    "media-needed": "It waits for paper or labels of this size.",
    "media-jam": "Paper is jammed in it.",
    "media-low": "Its paper or labels run low.",
    "cover-open": "Its cover is open.",
    "door-open": "A door of it is open.",
    "input-tray-missing": "Its paper tray is not in.",
    "output-area-full": "Its output tray is full.",
    "toner-empty": "It has no toner left.",
    "toner-low": "Its toner runs low.",
    "marker-supply-empty": "It has no ink or ribbon left.",
    "marker-supply-low": "Its ink or ribbon runs low.",
    "paused": "It is paused.",
    "offline": "It is switched off or can't be reached.",
    "timed-out": "It gave no answer.",
    "shutdown": "It is switched off or can't be reached.",
    "stopped-partly": "It is stopped in part.",
    "spool-area-full": "The computer's disk is full.",
    "cups-missing-filter": "CUPS lacks a part to print with it.",
    "cups-insecure-filter": "CUPS does not trust a part to print with it.",
    "job-canceled-by-user": "Somebody cancelled it.",
    "job-canceled-by-operator": "Somebody cancelled it.",
    "job-canceled-at-device": "It was cancelled at the printer.",
    "aborted-by-system": "CUPS gave it up.",
    "job-hold-until-specified": "It is held back at the printer.",
    "job-stopped": "It was stopped.",
    "printer-stopped": "The printer is stopped.",
    "printer-stopped-partly": "The printer is stopped in part.",
    "document-format-error": "The printer could not read it.",
    "document-unprintable-error": "The printer could not print it.",
    "unsupported-document-format": "The printer does not take such files.",
    "resources-are-not-ready": "The printer waits for paper, ink or a hand.",
    "job-completed-with-errors": "It ended with an error.",
    "job-completed-with-warnings": "It ended with a warning.",
}


def describe_reasons(keywords: Sequence[str], said: str = "") -> str:
    """What keywords and the printer's own words say, in sentences; empty where nothing is wrong.

    >>> describe_reasons(["media-empty-error", "none"], "Load 62 mm labels")
    'It has no paper or labels left. It says: “Load 62 mm labels”.'
    """
    sentences: list[str] = []
    for keyword in keywords:
        bare = _without_severity(keyword)
        if bare in _IGNORED or keyword.endswith("-report"):
            continue
        sentence = _MESSAGES.get(bare) or f"It says “{bare.replace('-', ' ')}”."
        if sentence not in sentences:
            sentences.append(sentence)
    if said.strip():
        sentences.append(f"It says: “{said.strip().rstrip('.')}”.")
    return " ".join(sentences)


def _without_severity(keyword: str) -> str:
    """A keyword without its severity (RFC 8011, 5.4.12)."""
    if keyword in _MESSAGES:
        return keyword
    for end in ("-error", "-warning", "-report"):
        keyword = keyword.removesuffix(end)
    return keyword
