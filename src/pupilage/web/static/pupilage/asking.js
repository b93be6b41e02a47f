// Sends one thing to this machine, and says in words what went wrong. Shared by the pages that teach.

export const words = JSON.parse(document.getElementById("words").textContent);
const part = (id) => document.getElementById(id);

export const fill = (text, values = {}) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
export const told = (text) => { part("said").textContent = text; trouble(""); };
export function trouble(text) {
  part("problem").textContent = text;
  part("problem").hidden = !text;
  if (text) part("problem").scrollIntoView({ block: "nearest" }); // the button may be far from it on a phone
}

export async function post(address, body, headers = {}) {
  const options = { redirect: "manual", cache: "no-store" };
  const fresh = await fetch(part("teaching").dataset.token, options);
  if (!fresh.ok) throw new Error(words.signed_out);
  const { token } = await fresh.json();
  const answer = await fetch(address, { ...options, method: "POST", body, headers: { "X-CSRFToken": token, ...headers } });
  if (!(answer.headers.get("Content-Type") ?? "").startsWith("application/json")) throw new Error(words.signed_out);
  const said = await answer.json();
  if (!answer.ok) throw new Error(said.problems?.join(" ") || String(answer.status));
  return said;
}

export const why = (error) => (error instanceof TypeError ? fill(words.trouble, { reason: error.message }) : error.message);
