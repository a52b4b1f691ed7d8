// Holidays, closures and other days out of the usual, as rows that stand in a plan.

import { addDays, span, stretches, weekday } from "./words.js";

const KINDS = [
  ["holidays", "holiday"],
  ["closures", "closed"],
  ["remote_spells", "remote"],
  ["restricted_days", "takes only some lessons"],
];

// The first day that is not of the term before.
export const begins = ({ term }) => term.week_one ?? term.first;

// Each stretch that concerns a class, or any of them: its first and last date, and what it is called.
export function daysOff(scenario, classId = null) {
  return KINDS.flatMap(([key, kind]) =>
    (scenario[key] ?? []).flatMap((entry) => {
      const classes = [entry.classes ?? []].flat();
      if (classId && classes.length && !classes.includes(classId)) return [];
      const whom = !classId && classes.length ? `, ${classes.join(", ")}` : "";
      const periods = [entry.periods ?? []].flat();
      const when = periods.length ? `, period ${periods.join(", ")}` : "";
      const named = entry.name.toLowerCase().includes(kind) ? entry.name : `${entry.name} (${kind})`;
      return stretches(entry)
        .filter(([first, last]) => last >= begins(scenario) && first <= scenario.term.last && !onlyWeekend(first, last))
        .map(([first, last]) => ({ date: first, last, kind, text: `${span(first, last)}: ${named}${whom}${when}` }));
    }),
  );
}

function onlyWeekend(first, last) {
  return weekday(first) > 4 && last <= addDays(first, 6 - weekday(first));
}
