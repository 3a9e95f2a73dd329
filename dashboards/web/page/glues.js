// The adhesives: what each wants of time and warmth, and how that is known.

import { ask } from "./api.js";
import { Curve } from "./curve.js";
import { make } from "./make.js";

const $ = (id) => document.getElementById(id);
const items = (id, words) => $(id).replaceChildren(...words.map((w) => make("li", {}, w)));
let curve;

function list(glues) {
  $("told").textContent = glues.length ? "" : "No datasheet can be read; the daemon's log says why.";
  $("list").replaceChildren(...glues.map((g) => make("li", {}, make("a", { href: "#" + encodeURIComponent(g.name) },
    make("span", {}, make("strong", {}, g.title || g.name), " ", make("small", {}, `${g.name}${g.own ? " · your own sheet" : ""}`))))));
}

async function show() {
  const name = decodeURIComponent(location.hash.slice(1));
  $("glue").hidden = name === "";
  if (!name) return;
  try {
    const d = await ask(`api/v1/glues/${encodeURIComponent(name)}`), g = d.glue;
    $("glue-title").textContent = g.title || g.name;
    document.title = `${g.title || g.name} · nightclamp`;
    $("glue-range").textContent = `Glue line from ${d.rows[0].at} up; from pressure reached, not from the pump's start.`;
    $("rows").replaceChildren(...d.rows.map((r) => make("tr", {}, make("th", { scope: "row" }, r.at),
      ...[r.strained, r.flat, r.open, r.closed, r.full_cure].map((v) => make("td", {}, v || "not said")))));
    items("cautions", [...g.cautions, ...d.trade_cautions]);
    items("explain", d.explain);
    items("assumed", d.assumed.map((a) => `Not in the sheet, so assumed: ${a}`));
    $("source").textContent = g.source;
    curve.draw(d.curve);
    $("told").textContent = "";
    $("glue").focus();
    scrollTo(0, 0);
  } catch (err) {
    $("glue").hidden = true;
    $("told").textContent = err.message;
  }
}

async function begin() {
  try {
    if ((await ask("api/v1/session")).role === "none") {
      location.replace("./");
      return;
    }
    curve = new Curve((await ask("api/v1/config")).temperature);
    list(await ask("api/v1/glues"));
    addEventListener("hashchange", show);
    await show();
  } catch (err) {
    $("told").textContent = err.message;
  }
}

begin();
