"""Every style sheet and script that a template names is there, and every one that is there is named."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_templates_name_the_style_sheets_and_scripts_that_are_there() -> None:
    static = ROOT / "static"
    there = {path.relative_to(static).as_posix() for top in ("css", "js") for path in (static / top).rglob("*.*")}
    named = set()
    for path in (ROOT / "templates").rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        named |= set(re.findall(r"filename='((?:css|js)/[^']+)'", text)) - {"css/", "js/"}
        # Names in a loop, as of base.html: each is a word of its list.
        for names, folder in re.findall(r"for \w+ in [\[(]([^])]*)[\])][^\n]*\n[^\n]*filename='(css|js)/' ~", text):
            named |= {f"{folder}/{name}.{folder}" for name in re.findall(r'"([^"]+)"', names)}
    assert named == there
