/* A call to the shop's computer, and ids that nobody has given before. */

export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
}

export async function call(path, body, patience = 30000) {
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), patience);
  try {
    const traits = body === undefined ? {} : {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
    };
    const answer = await fetch(path, { ...traits, signal: stop.signal, cache: "no-store" });
    const text = await answer.text();
    let said = {};
    try { said = JSON.parse(text); } catch { said = { problem: text }; }
    return { status: answer.status, said };
  } finally {
    clearTimeout(clock);
  }
}
