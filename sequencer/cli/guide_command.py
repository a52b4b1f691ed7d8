"""``guide``: the pages that say how everything is done, without a browser."""

from __future__ import annotations

import argparse

from sequencer import GUIDE, UnusableSettings, guide_text
from sequencer.cli.shared import DONE
from sequencer.files.terminal import put_text


def run_guide(options: argparse.Namespace) -> int:
    """Print a page of the guide, or what pages there are."""
    if options.topic is None:
        width = max(len(topic.name) for topic in GUIDE)
        listed = "".join(f"  {topic.name:{width}}  {topic.says}\n" for topic in GUIDE)
        put_text(f"The guide has these topics; `python -m sequencer guide TOPIC` prints one:\n{listed}")
        return DONE
    text = guide_text(options.topic)
    if text is None:
        raise UnusableSettings([f"the guide's page on {options.topic} did not come with this installation"])
    put_text(text)
    return DONE
