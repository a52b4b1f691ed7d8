// Dates and counts in words, and the dates of weeks.

export const WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const A_DAY = 86400000;

const number = (iso) => Date.parse(`${iso}T00:00:00Z`) / A_DAY;

export function addDays(iso, days) {
  return new Date((number(iso) + days) * A_DAY).toISOString().slice(0, 10);
}

// 0 for Monday.
export function weekday(iso) {
  return (number(iso) + 3) % 7;
}

export function monday(iso) {
  return addDays(iso, -weekday(iso));
}

export function today() {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
}

// "2026-11-02" as "Mon 2 Nov 2026".
export function day(iso) {
  return `${shortDay(iso)} ${iso.slice(0, 4)}`;
}

export function shortDay(iso) {
  return `${WEEKDAYS[weekday(iso)]} ${dayOfMonth(iso)}`;
}

export function dayOfMonth(iso) {
  const [, month, date] = iso.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]}`;
}

// First and last date of an entry of a calendar, for each stretch that it names.
export function stretches(entry) {
  if (entry.on) return [entry.on].flat().map((date) => [date, date]);
  return [[entry.first, entry.last ?? entry.first]];
}

export function span(first, last) {
  return first === last ? shortDay(first) : `${shortDay(first)} to ${shortDay(last)}`;
}

// What a term is called that nobody gave a name.
export function titleBetween(names, first, last) {
  return `${names.join(", ")}: ${dayOfMonth(first)} to ${day(last).slice(4)}`;
}

export function place(at) {
  return at ? `${shortDay(at.date)}, period ${at.period}` : "not placed";
}

export function count(amount, one, many = `${one}s`) {
  return `${amount.toLocaleString("en-GB")} ${amount === 1 ? one : many}`;
}

export function upper(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function sentence(text) {
  return /[.!?]$/.test(text) ? upper(text) : `${upper(text)}.`;
}

export const STATUS = {
  optimal: "Proven best: no other plan does better on these aims, in this order.",
  feasible: "Best found in the time. A better one may exist; the aims say by how much at most.",
  infeasible: "No plan exists: not everything that is asked for can hold.",
  unknown: "No plan was found in the time. Whether one exists is not known: allow more time.",
};

export const SHORT_STATUS = {
  optimal: "proven best",
  feasible: "best found",
  infeasible: "not possible",
  unknown: "none found in the time",
};

// What each aim counts; all are made small.
export const AIMS = {
  "left out": "optional lessons that find no place",
  "carried over": "practice and retrieval that come late or are left over",
  "left for the next plan": "of those, the ones left over",
  "made lessons": "lessons made beside the listed ones",
  wishes: "what you would rather have and do not get, by weight",
  "early finish": "periods empty before the last new lesson",
  "dense as set work": "hard lessons that are set work",
  distance: "days that lessons are met again too soon or too late",
  "even load": "load of each class's heaviest week",
  "even week": "preparing and marking in each teacher's heaviest week, in minutes",
};

export const KINDS = {
  teach: "new content",
  practice: "practice",
  retrieval: "retrieval",
  feedback: "feedback",
  assessment: "test",
};
