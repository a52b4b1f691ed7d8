"""What has to be got ready for a lesson: whether its material is there, who makes it, and what needs notice."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sequencer.scenario.fields import Minutes, Model, Text

READY, ELSEWHERE, TO_ADAPT, TO_MAKE = "ready", "ready-made elsewhere", "to adapt", "to make"

MaterialStatus = Literal["ready", "ready-made elsewhere", "to adapt", "to make"]
assert set(MaterialStatus.__args__) == {READY, ELSEWHERE, TO_ADAPT, TO_MAKE}  # type: ignore[attr-defined]


class Notice(Model):
    """Something that must be asked for some days before the lesson."""

    what: Text = Field(description="What is asked for, such as a technician, a room or printing.")
    days: Annotated[int, Field(ge=1, le=100)] = Field(
        description="How many working days before the lesson at the latest: 1 is the school day before it."
    )
    hand_in: bool = Field(
        False, description="Whether the material is handed in with it, as for printing, and so must be ready by then."
    )
    done: bool = Field(False, description="Whether it has been asked for, and so is no longer listed.")


class Prepare(Model):
    """What has to be got ready for a lesson, once for all parallel classes of a teacher."""

    status: MaterialStatus = Field(
        "to make",
        description="How far its material is: `ready` (no minutes of preparation are left), `ready-made elsewhere`, `to adapt` "
        "or `to make`.",
    )
    where: Text | None = Field(None, description="Where the material is or will be, such as a folder or a cupboard.")
    made_by: Text | None = Field(
        None,
        description="Who makes it, when not the teacher of the lesson; the minutes of preparation are still the teacher's.",
    )
    outside_specialism_minutes: Minutes = Field(
        0, description="Rule 10: minutes of preparation more, since it lies outside the teacher's specialism."
    )
    notice: tuple[Notice, ...] = Field((), description="What must be asked for some working days before, for each class.")
