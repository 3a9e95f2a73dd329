// Every run that was kept: the list, and one run with its chart and its story.

import { ask } from "./api.js";
import { Clock, unix } from "./clock.js";
import { Picture } from "./picture.js";
import { make } from "./make.js";
import { icon } from "./view.js";

const $ = (id) => document.getElementById(id);
let settings, picture;

function list(runs) {
  $("told").textContent = runs.length ? "" : "Nothing has been pressed yet.";
  $("list").replaceChildren(...runs.map((r) => make("li", {}, make("a", { href: "#" + encodeURIComponent(r.id) }, icon(r.verdict),
    make("span", {}, make("strong", {}, r.work || r.press), " ", make("small", {}, `${r.press} · ${r.shown.started} · ${r.ended ? r.shown.took : "still on the press"}`)),
    make("span", { className: "verdict-word" }, r.shown.verdict)))));
}

function facts(r) {
  const rows = [["Press", r.press], ["Glue", r.glue || "none chosen"], ["Floor", r.shown.floor], ["Begun", r.shown.started],
    ["Closed", r.shown.ended || "still open"], ["Took", r.shown.took], ["Cured under clamp", r.shown.progress], ["Top-ups", String(r.top_ups)]];
  if (r.plies) rows.push(["Plies", String(r.plies)]);
  if (r.notes) rows.push(["Notes", r.notes]);
  $("run-facts").replaceChildren(...rows.map(([k, v]) => make("div", {}, make("dt", {}, k), make("dd", {}, v))));
}

// A run of the past as the picture takes it: a status at its end, with nothing ahead.
function asStatus(run, h) {
  const none = { low: null, expected: null, high: null };
  const end = h.t[h.t.length - 1];
  return {
    past: true, time: new Date(end * 1000).toISOString(), vacuum_pa: null, floor_pa: run.floor_pa, floor_at: {}, press_time_at: {},
    leak_rate_pa_per_h: none, clamped_progress: none, shown: { floor: run.shown.floor, vacuum: "", progress: run.shown.progress },
  };
}

const chosen = () => decodeURIComponent(location.hash.slice(1));

// Asked for at once, so that neither waits for the other.
function askRun(id) {
  const path = `api/v1/runs/${encodeURIComponent(id)}`;
  return quietly({ id, detail: ask(path), history: ask(`${path}/history?points=800`) });
}

// An answer that is refused is told where it is waited for.
function quietly(asked) {
  for (const answer of Object.values(asked)) if (answer instanceof Promise) answer.catch(() => {});
  return asked;
}

async function show(asked) {
  const id = chosen();
  $("run").hidden = id === "";
  if (!id) return;
  if (asked?.id !== id) asked = askRun(id);
  try {
    const { run, events } = await asked.detail;
    $("run-title").textContent = `${run.work || run.press}: ${run.shown.verdict}`;
    $("run-sentence").textContent = run.sentence;
    document.title = `${run.work || run.press} · nightclamp`;
    facts(run);
    $("run-keeping").hidden = !settings.keeping;
    $("run-outcome").href = "outcome.html#" + encodeURIComponent(id);
    $("run-zip").href = `api/v1/runs/${encodeURIComponent(id)}/record.zip`;
    $("events").replaceChildren(...events.map((e) => make("li", {}, make("span", { className: "at" }, e.at), make("span", {}, e.words))));
    const h = await asked.history;
    if (h.t.length) {
      picture.setHistory(h);
      picture.draw(asStatus(run, h));
    }
    $("told").textContent = "";
    $("run").focus();
    scrollTo(0, 0);
  } catch (err) {
    $("told").textContent = err.message;
  }
}

async function begin() {
  const early = quietly({ session: ask("api/v1/session"), config: ask("api/v1/config"), runs: ask("api/v1/runs") });
  const run = chosen() ? askRun(chosen()) : undefined;
  try {
    if ((await early.session).role === "none") {
      location.replace("./");
      return;
    }
    settings = await early.config;
    picture = new Picture(settings, new Clock(settings), unix);
    list(await early.runs);
    $("to-compare").hidden = !settings.keeping;
    addEventListener("hashchange", () => show());
    await show(run);
  } catch (err) {
    $("told").textContent = err.message;
  }
}

begin();
