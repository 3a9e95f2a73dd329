// Runs side by side, and what they say of the next.

import { ask } from "./api.js";
import { make } from "./make.js";

const $ = (id) => document.getElementById(id);

function row(r) {
  const s = r.shown;
  const name = make("th", { scope: "row" }, make("a", { href: "runs.html#" + encodeURIComponent(r.run) }, r.work || r.run), make("br"), make("small", {}, s.started));
  return make("tr", {}, name, ...[s.earned, s.unclamped, s.coldest, s.leak, String(r.top_ups), s.along, s.across, s.weight].map((v) => make("td", {}, v)));
}

async function begin() {
  try {
    if ((await ask("api/v1/session")).role === "none") {
      location.replace("./");
      return;
    }
    const c = await ask("api/v1/compare?last=50");
    $("told").textContent = c.runs.length ? "" : "Nothing is to be compared yet: no run is over.";
    $("table").hidden = c.runs.length === 0;
    $("rows").replaceChildren(...c.runs.reverse().map(row));
    $("learnt").hidden = c.fits.length === 0;
    $("fits").replaceChildren(...c.fits.map((f) => make("li", {}, f.says)));
  } catch (err) {
    $("told").textContent = err.message;
  }
}

begin();
