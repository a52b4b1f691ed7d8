"""Loaded, after all that workers need, by the process that they are forked from: sets it aside as never to become garbage."""

from sequencer.workers.serving import set_aside_what_is_loaded

set_aside_what_is_loaded()
