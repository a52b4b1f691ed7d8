"""Loaded by the process that workers are forked from: all that they need, once, and set aside as never to become rubbish."""

from api.worker import set_aside_what_is_loaded

set_aside_what_is_loaded()
