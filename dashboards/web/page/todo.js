// What waits for the builder and is no alert: a question about a blank that came
// out, a run that is not in the build log.

import { make } from "./make.js";

export function showTodo(p) {
  const list = document.getElementById("todo"), todo = p.todo ?? [];
  const words = todo.map((t) => t.kind + t.run + t.text).join();
  list.hidden = todo.length === 0;
  if (list.dataset.words === words) return;
  list.dataset.words = words;
  list.replaceChildren(...todo.map((t) => make("li", {}, t.kind === "outcome"
    ? make("a", { href: "outcome.html#" + encodeURIComponent(t.run) }, t.text.split(" Write it down")[0]) : t.text)));
}
