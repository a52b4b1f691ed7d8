// A scenario in which a lesson's cheapest cut is made, as the server told it.

export function fitted(scenario, outlined) {
  const next = structuredClone(scenario);
  const unit = next.units.find((each) => each.id === outlined.unit);
  const lesson = unit.lessons.find((each) => each.id === outlined.lesson);
  const rooms = [...outlined.why_not.goes_to];
  for (const cut of outlined.why_not.cuts) {
    const listed = partsWith(next, unit, lesson, cut.part);
    if (!listed) return null;
    const { parts, at } = listed;
    if (cut.how === "shorten") shorten(parts[at], outlined.taught, cut.minutes);
    else if (cut.how === "move") {
      const room = unit.lessons.find((each) => `${unit.id}/${each.id}` === rooms[0]);
      rooms.shift();
      if (!room || parts !== lesson.parts) return null;
      move(parts[at], lesson, room);
    }
  }
  return next;
}

// Where a part stands, by its id or its number: in the lesson, or in its usual outline, of which it then has one of its own.
function partsWith(scenario, unit, lesson, id) {
  const place = (parts, word) => parts.findIndex((each, number) => (each.id ?? `${word}-${number + 1}`) === id);
  const own = place(lesson.parts, "part");
  if (own >= 0) return { parts: lesson.parts, at: own };
  const pattern = scenario.patterns?.find((each) => each.id === unit.pattern);
  const named = lesson.outline ?? unit.outline ?? pattern?.outline;
  const usual = scenario.usual_outlines?.find((each) => each.id === named);
  for (const where of ["opening", "closing"]) {
    const at = place(usual?.[where] ?? [], where);
    if (at < 0) continue;
    const copy = { ...structuredClone(usual), id: `${usual.id} of ${unit.id} ${lesson.id}` };
    scenario.usual_outlines.push(copy);
    lesson.outline = copy.id;
    return { parts: copy[where], at };
  }
  return null;
}

function shorten(part, taught, minutes) {
  const stated = part.versions?.[taught]?.minutes ? part.versions[taught] : part;
  const now = stated.minutes;
  stated.minutes = { least: (now.least ?? now) - minutes, most: now.most ?? now };
}

// A part, with the objectives that it serves, to the beginning of another lesson of its unit.
function move(part, from, to) {
  from.parts = from.parts.filter((each) => each !== part);
  for (const each of from.parts) if (each.after) each.after = [each.after].flat().filter((word) => word !== part.id);
  const known = (to.objectives ?? []).map((each) => each.id ?? each);
  const served = (from.objectives ?? []).filter((each) => [part.objectives ?? []].flat().includes(each.id ?? each));
  to.objectives = [...(to.objectives ?? []), ...served.filter((each) => !known.includes(each.id ?? each))];
  const { after, id, ...kept } = part;
  to.parts = [kept, ...to.parts];
}
