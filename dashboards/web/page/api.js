// Talks to the daemon. An error says what the daemon said.

export class Refused extends Error {
  constructor(status, detail) {
    super(detail);
    this.status = status;
  }
}

export async function ask(path, method = "GET", body = undefined) {
  const answer = await fetch(path, {
    method,
    headers: body === undefined ? {} : { "Content-Type": "application/json" },
    body: body === undefined ? undefined : JSON.stringify(body),
  }).catch(() => {
    throw new Refused(0, "nightclamp does not answer. Nothing was written down.");
  });
  if (answer.status === 204) return undefined;
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, told.detail ?? `nightclamp answered ${answer.status}`);
  return told;
}
