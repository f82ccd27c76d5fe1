// The interface of the program (INTERFACE.md): questions and answers as JSON.

export class Problem extends Error {
  // `step` is counted from 0; `at` is a place of the traced line.
  constructor(words, { step = null, at = null } = {}) {
    super(words);
    Object.assign(this, { step, at });
  }
}

async function answer(response) {
  const text = await response.text();
  let value = {};
  try {
    value = JSON.parse(text);
  } catch {
    if (response.ok) throw new Problem("the program's answer does not read");
  }
  if (!response.ok) throw new Problem(value.problem ?? (text || `not answered (${response.status})`), value);
  return value;
}

async function send(path, options) {
  let response;
  try {
    response = await fetch(path, options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Problem("the program does not answer; is it still running?");
  }
  return answer(response);
}

export const ask = (path, signal) => send(path, { signal });
export const post = (path, body = {}, signal) =>
  send(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body), signal });
export const put = (path, bytes) => send(path, { method: "POST", body: bytes });
export const drop = (path) => send(path, { method: "DELETE" });

// The unit of every length that is shown, kept for the next visit.
export const unit = () => localStorage.getItem("unit") ?? "mm";
export const keepUnit = (word) => localStorage.setItem("unit", word);
