// Puts a snapshot into the page. Everything is text: the daemon wrote it.

import { make } from "./make.js";

const $ = (id) => document.getElementById(id);

export function text(id, value) {
  const node = $(id), now = value ?? "";
  if (node.textContent !== now) node.textContent = now; // an unchanged sentence is not read out again
}

export function shape(verdict) {
  const known = ["will_hold", "done", "in_doubt", "will_not_hold", "unsure"];
  const like = { pressed: "done", part_clamped: "in_doubt", opened_early: "will_not_hold", film_lost: "will_not_hold" };
  const name = like[verdict] ?? verdict;
  return "#shape-" + (known.includes(name) ? name : "unsure");
}

export function icon(verdict) {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("aria-hidden", "true");
  svg.dataset.verdict = verdict;
  const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  use.setAttribute("href", shape(verdict));
  svg.append(use);
  return svg;
}

export function showPresses(presses, chosen) {
  const nav = $("presses");
  nav.hidden = presses.length < 2;
  const words = presses.map((p) => `${p.press}|${p.verdict}|${p.press === chosen}`).join();
  if (nav.dataset.words === words) return;
  nav.dataset.words = words;
  const focused = document.activeElement?.dataset?.press;
  nav.replaceChildren(...presses.map((p) => {
    const a = make("a", { href: "#press=" + encodeURIComponent(p.press) }, icon(p.verdict), make("span", {}, p.press),
      make("small", {}, p.shown.verdict));
    a.dataset.press = p.press;
    if (p.press === chosen) a.setAttribute("aria-current", "true");
    return a;
  }));
  if (focused) [...nav.children].find((a) => a.dataset.press === focused)?.focus();
}

export function showPress(p, may, board) {
  const s = p.shown;
  text("site", p.site ? `${p.site} · ${p.press}` : p.press);
  $("answer").dataset.verdict = p.verdict;
  $("verdict-shape").setAttribute("href", shape(p.verdict));
  text("verdict", s.verdict);
  text("sentence", p.sentence || "Waiting for the first reading.");
  showMargin(p);
  text("vacuum", s.vacuum);
  text("floor", p.floor_pa === null ? "no floor set" : `floor ${s.floor}`);
  text("leak", s.leak_rate);
  text("leak-more", [s.leak_rate_range, p.leaking && s.leak_onset ? `since ${s.leak_onset}` : p.settled ? "" : "settling"].filter(Boolean).join(", "));
  text("glueline", s.glueline);
  text("glueline-more", s.min_use ? `film forms above ${s.min_use}` : "");
  text("air", s.air);
  text("air-more", [s.ambient, s.humidity && `${s.humidity} humidity`].filter(Boolean).join(", "));
  text("weather", s.weather);
  text("progress", s.progress);
  text("progress-more", s.progress_range ? `${s.progress_range} under clamp` : "");
  showBar(p.clamped_progress);
  text("stage", s.stage);
  text("stage-more", s.countdown || (s.stage_for ? `for ${s.stage_for}` : ""));
  text("work", p.work || "–");
  text("glue", p.glue || "none chosen");
  text("started", s.started || "–");
  text("press-time", s.press_time_at ? withSpan(s.press_time_at, s.press_time_span) : "–");
  text("floor-at", s.floor_at ? withSpan(s.floor_at, s.floor_span) : "not in sight");
  text("top-ups", String(p.top_ups));
  $("wood-row").hidden = !s.wood;
  text("wood", s.wood);
  showAlerts((p.alerts ?? []).concat(board), (s.alerts_since ?? []).concat(board.map((a) => a.shown_since)), may);
  showSensors(p.sensors ?? []);
}

const withSpan = (at, span) => (span ? `${at} (${span})` : at);

function showMargin(p) {
  const s = p.shown, by = s.top_up_by ?? [], node = $("margin");
  const words = JSON.stringify([s.margin, s.margin_range, s.hold_chance, by, p.top_ups_enough]);
  if (node.dataset.words === words) return;
  node.dataset.words = words;
  node.replaceChildren();
  if (s.margin) node.append(make("span", {}, "Margin ", make("strong", {}, s.margin), s.margin_range ? ` (${s.margin_range})` : ""));
  if (s.hold_chance && p.stage === "hold") node.append(make("span", {}, "Holds untouched: ", make("strong", {}, s.hold_chance)));
  if (by.length) {
    node.append(make("span", {}, "Top up by ", make("strong", {}, by.slice(0, 3).join(", then ")), by.length > 3 ? ` and ${by.length - 3} more` : "",
      p.top_ups_enough ? " to be sure" : ", and even that may not be enough"));
  }
}

function showBar(progress) {
  const share = (v) => Math.max(0, Math.min(1, v ?? 0)) * 100;
  $("progress-bar").style.width = share(progress.expected) + "%";
  const band = $("progress-band").style;
  band.left = share(progress.low) + "%";
  band.width = share(progress.high) - share(progress.low) + "%";
}

function showAlerts(alerts, since, may) {
  $("alerts").hidden = alerts.length === 0;
  const list = $("alert-list");
  const words = JSON.stringify([alerts, since, may]);
  if (list.dataset.words === words) return;
  list.dataset.words = words;
  const acts = (a) => a.state === "acknowledged" ? make("span", { className: "seen" }, "Somebody looks after it.")
    : may ? make("span", { className: "row" }, make("button", { type: "button", "data-alert": a.id }, "I look after it"),
      make("button", { type: "button", "data-alert": a.id, "data-snooze": "1" }, "Quiet for 1 h")) : undefined;
  list.replaceChildren(...alerts.map((a, i) => make("li", { className: a.severity }, make("b", {}, a.severity),
    make("div", {}, make("span", {}, a.text || a.name.replaceAll("_", " ")), make("span", { className: "since" }, since[i] ? `since ${since[i]}` : ""), acts(a)))));
}

// What each part read last, raw: in SI, as its driver gives it.
const raw = (s) => (s.readings ?? []).map((r) => `${r.quantity} ${r.value === null ? "–" : ["bag", "ambient"].includes(r.quantity) ? `${Math.round(r.value)} Pa` : `${r.value.toFixed(2)} ${r.quantity === "humidity" ? "%" : "°C"}`}`).join(" · ");

function showSensors(sensors) {
  const list = $("sensors");
  const words = JSON.stringify(sensors.map((s) => [s.name, s.healthy, s.error, s.errors]));
  if (list.dataset.words !== words) {
    list.dataset.words = words;
    list.replaceChildren(...sensors.map((s) => make("li", { className: s.healthy ? "" : "ill" },
      make("span", {}, `${s.name} `, make("small", {}, `${s.driver}: ${(s.reads ?? []).join(", ")}`)),
      make("span", {}, s.healthy ? (s.errors ? `answers, ${s.errors} errors so far` : "answers") : `silent. ${s.error ?? ""}`),
      make("span", { className: "raw" }))));
  }
  sensors.forEach((s, i) => { list.children[i].lastChild.textContent = raw(s); });
}

// How sure the page is that what it shows is now.
export function showLink(kind, message, lastTime) {
  document.body.dataset.link = kind;
  $("stale").hidden = kind === "live" || kind === "wait";
  text("stale-text", message);
  text("verdict-was", kind === "lost" || kind === "old" ? `At ${lastTime} it was: ` : "");
  text("pulse-text", { live: `Live, ${lastTime}`, wait: "Connecting", lost: "No connection", old: "Old reading" }[kind]);
}
