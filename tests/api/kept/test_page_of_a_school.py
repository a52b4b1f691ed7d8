"""The page of a school in the guide shows this week, from the API alone."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from api.settings import Settings
from sequencer import guide_text
from tests.api.browser import serving
from tests.api.kept.keeping import Keeping


def test_the_page_in_the_guide_shows_this_week(own: Keeping, service: Keeping, tmp_path: Path) -> None:
    text = re.search(r"```python\n(.*?)```", guide_text("store") or "", re.DOTALL)
    assert text is not None and 35 <= text[1].count("\n") <= 50
    own.put("autumn", service.ask("GET", "/v1/terms/autumn").json())
    key = own.key("read a class", "9B")
    page = tmp_path / "page.html"
    with serving(Settings(store=str(own.file))) as address:
        stated = {"SERVICE": address.rstrip("/"), "KEY": key, "TERM": "autumn", "PAGE": str(page), "TODAY": "2026-11-04"}

        def made() -> str:
            subprocess.run([sys.executable, "-c", text[1]], env=stated, check=True)
            return page.read_text(encoding="utf-8")

        shown = made()
        rows = [row for row in service.ask("GET", "/v1/terms/autumn").json()["plan"]["lessons"] if row["class"] == "9B"]
        first = [row["title"] for row in rows if row["date"] <= "2026-11-06"]
        assert first and all(title in shown for title in first) and shown.count("<td>9B") == len(first)
        assert "ZZ" not in shown and key not in shown
        page.write_text("as it was", encoding="utf-8")
        assert made() == "as it was", "nothing was changed since"
        stated["TODAY"] = "2026-11-12"
        assert "Week of 09 November 2026" in made()
