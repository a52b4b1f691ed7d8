"""Whether the service runs; answered whatever the solves are doing."""

from __future__ import annotations

from fastapi import APIRouter, Request

from api.messages import Health
from api.openapi import answered, reference

router = APIRouter(tags=["service"])


@router.head("/healthz", include_in_schema=False)
@router.get("/healthz", responses={200: answered("It runs.", reference("Health"))}, response_model=None)
async def health(request: Request) -> Health:
    """Say that the service runs, and how busy it is."""
    running, waiting = request.app.state.solves.counts()
    return Health(status="ok", running=running, waiting=waiting)
