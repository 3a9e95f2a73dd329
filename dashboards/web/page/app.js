// The page: one press at a time, live.

import { Acts } from "./act.js";
import { ask } from "./api.js";
import { Clock, span, unix } from "./clock.js";
import { Drop } from "./drop.js";
import { Live } from "./live.js";
import { enter, leave } from "./login.js";
import { Picture } from "./picture.js";
import { showTodo } from "./todo.js";
import { showLink, showPress, showPresses, text } from "./view.js";
import { wall } from "./wall.js";

let settings, clock, picture, live, acts, drop;
let snap; // the newest
let chosen; // name of the press that is shown
let drawn = {}; // what the picture's history belongs to

const current = () => snap?.presses.find((p) => p.press === chosen);

function choose() {
  const wanted = new URLSearchParams(location.hash.slice(1)).get("press");
  const names = snap.presses.map((p) => p.press);
  chosen = names.includes(wanted) ? wanted : names[0];
}

function render() {
  if (!snap) return;
  choose();
  showPresses(snap.presses, chosen);
  const p = current();
  if (!p) {
    text("sentence", "No press is configured.");
    return;
  }
  showPress(p, acts !== undefined, snap.board ?? []);
  showTodo(p);
  acts?.show(p);
  drop.show(p);
  const over = ["idle", "release"].includes(p.stage);
  text("picture-title", over ? "The course of it" : "Which line gets there first");
  document.title = `${p.shown.verdict} · ${p.press} · nightclamp`;
  const fresh = drawn.press === p.press && drawn.run === p.run && drawn.epoch === epoch;
  if (fresh) picture.push(p);
  if (!fresh || picture.wantsHistory()) loadHistory(p);
}

let epoch = 0; // counts the times the line came back: the history may have a hole since
let loading = false;

// The record of a run knows how the press time was earned as well.
const historyOf = (p) => (settings.records && p.run ? `api/v1/runs/${encodeURIComponent(p.run)}/history?points=600`
  : `api/v1/presses/${encodeURIComponent(p.press)}/history?points=600`);

async function loadHistory(p) {
  if (loading) return;
  loading = true;
  const belongs = { press: p.press, run: p.run, epoch };
  try {
    picture.setHistory(await ask(historyOf(p)));
    drawn = belongs;
    const now = current();
    if (now && now.press === belongs.press) picture.push(now);
  } catch (err) {
    console.info("no history yet:", err.message); // tried again with the next snapshot
  } finally {
    loading = false;
  }
}

let lost = false;

function onState({ lost: down, quiet, ever }) {
  const p = current();
  const last = p?.shown.time || "–";
  if (lost && !down) epoch++;
  lost = down;
  if (down) {
    if (quiet > 10) stillWelcome();
    showLink("lost", ever ? `No word from nightclamp for ${span(quiet)}. What is below may no longer be so. Trying again.`
      : `Cannot reach nightclamp. Trying again.`, last);
  } else if (!ever || !p) {
    showLink("wait", "", last);
  } else {
    const age = live.age(p.press);
    if (age !== undefined && age > settings.stale_after_s) {
      showLink("old", `The newest reading is ${span(age)} old. nightclamp runs, but its sensors do not answer. What is below may no longer be so.`, last);
    } else showLink("live", "", last);
  }
}

// A line can also be dead because the session ended.
let asked = 0;
async function stillWelcome() {
  if (Date.now() - asked < 15_000) return;
  asked = Date.now();
  const session = await ask("api/v1/session").catch(() => undefined);
  if (session?.role === "none") location.reload();
}

async function begin() {
  wall();
  let session;
  for (;;) {
    try {
      const early = ask("api/v1/config").catch(() => undefined); // refused before the login
      session = await enter();
      settings = (await early) ?? (await ask("api/v1/config"));
      break;
    } catch {
      showLink("lost", "Cannot reach nightclamp. Trying again.", "–");
      await new Promise((done) => setTimeout(done, 2000));
    }
  }
  clock = new Clock(settings);
  text("version", settings.version ? `nightclamp ${settings.version}` : "nightclamp");
  picture = new Picture(settings, clock, unix);
  document.getElementById("to-settings").hidden = session.role !== "owner";
  if (session.role === "owner" && settings.control) acts = new Acts(settings, current);
  drop = new Drop(settings, acts);
  document.getElementById("to-runs").hidden = !settings.records;
  if (session.password) {
    const out = document.getElementById("leave");
    out.hidden = false;
    out.addEventListener("click", leave);
  }
  live = new Live((s) => { snap = s; render(); }, (state) => live && onState(state));
  addEventListener("hashchange", render);
}

begin();
