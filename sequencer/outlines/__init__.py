"""The inside of lessons: outlines of their parts, and where a unit's content is cut into lessons.

Reading cuts what units list as content as this room says.
"""

from sequencer.instance.load import CUTTING
from sequencer.outlines.cutting import with_lessons

CUTTING[:] = [with_lessons]
