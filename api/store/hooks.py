"""Placeholder."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection


def put_notices(connection: Connection, name: str, notice: dict[str, Any]) -> None:
    """Nothing yet."""
