// Dates and counts in words.

const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

// "2026-11-02" as "Mon 2 Nov 2026".
export function day(iso) {
  const [year, month, date] = iso.split("-").map(Number);
  const weekday = new Date(Date.UTC(year, month - 1, date)).getUTCDay();
  return `${WEEKDAYS[weekday]} ${date} ${MONTHS[month - 1]} ${year}`;
}

export function shortDay(iso) {
  return day(iso).replace(/ \d+$/, "");
}

export function count(number, one, many = `${one}s`) {
  return `${number.toLocaleString("en-GB")} ${number === 1 ? one : many}`;
}

export function upper(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export const STATUS = {
  optimal: "Proven best: no other sequence does better on these aims, in this order.",
  feasible: "Best found in the time. A better one may exist; the aims in step 2 say by how much at most.",
  infeasible: "No sequence exists: not everything that the scenario asks for can hold.",
  unknown: "No sequence was found in the time. Whether one exists is not known: allow more time.",
};

export const SHORT_STATUS = {
  optimal: "proven best",
  feasible: "best found",
  infeasible: "not possible",
  unknown: "none found in the time",
};
