"""``rules``: what rules there are, and what one means exactly."""

from __future__ import annotations

import argparse

from sequencer import UnusableSettings, rules_table, rules_text
from sequencer.cli.shared import DONE
from sequencer.files.terminal import put_text


def run_rules(options: argparse.Namespace) -> int:
    """Print the list of rules, or one of them."""
    text = rules_table() if options.table else rules_text(options.rule)
    if text is None:
        raise UnusableSettings([f"there is no rule {options.rule}; `python -m sequencer rules` lists them"])
    put_text(text)
    return DONE
