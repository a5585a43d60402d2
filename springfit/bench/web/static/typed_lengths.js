/* Lengths as a person types them, fractions of an inch among them, and as they are marked on a rule. */

export function number(text) {
  const mixed = /^\s*(-?)(?:(\d+)(?:\s*-\s*|\s+))?(\d+)\s*\/\s*(\d+)\s*$/.exec(text);
  if (mixed) return (mixed[1] ? -1 : 1) * (Number(mixed[2] || 0) + Number(mixed[3]) / Number(mixed[4]));
  return /^\s*-?(\d+\.?\d*|\.\d+)\s*$/.test(text) ? Number(text) : NaN;
}

export function inMarks(value, unit) {
  if (unit !== "in") return String(Math.round(value * 1000) / 1000);
  const parts = Math.round(value * 64);
  if (Math.abs(parts / 64 - value) > 1e-6) return String(Math.round(value * 10000) / 10000);
  const whole = Math.floor(parts / 64);
  let [top, bottom] = [parts % 64, 64];
  while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
  if (!top) return String(whole);
  return whole ? `${whole}-${top}/${bottom}` : `${top}/${bottom}`;
}
