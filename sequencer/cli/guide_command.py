"""The commands that print what is written on the tool itself: its guide, its rules, the schema of a scenario."""

from __future__ import annotations

import argparse

from sequencer import GUIDE, UnusableSettings, guide_text, rules_table, rules_text, scenario_schema
from sequencer.cli.shared import DONE, json_text
from sequencer.files.terminal import put_text


def run_schema(_options: argparse.Namespace) -> int:
    """Print the JSON schema of a scenario."""
    put_text(json_text(scenario_schema()))
    return DONE


def run_guide(options: argparse.Namespace) -> int:
    """Print a topic of the guide, or what topics there are."""
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


def run_rules(options: argparse.Namespace) -> int:
    """Print the rules, or one of them."""
    text = rules_table() if options.table else rules_text(options.rule)
    if text is None:
        raise UnusableSettings([f"there is no rule {options.rule}; `python -m sequencer rules` lists them"])
    put_text(text)
    return DONE
