"""The small JSON API: the same scenarios, answers and verdicts as the command line, over HTTP. Nothing is stored."""
