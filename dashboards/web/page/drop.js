// The guided drop test: what to do now, how far it is, and the verdict.

import { span } from "./clock.js";

const $ = (id) => document.getElementById(id);
const verdicts = { holds: "will_hold", fails: "will_not_hold", cannot_tell: "in_doubt" };

const set = (id, words) => { if ($(id).textContent !== words) $(id).textContent = words; };

// A test that is over is shown for half a day, or until the next begins.
function worthSaying(d, now) {
  return d !== undefined && (d.state !== "over" || Date.parse(now) - Date.parse(d.ended) < 12 * 3600_000);
}

export class Drop {
  constructor(settings, acts) {
    this.settings = settings;
    $("drop-acts").hidden = acts === undefined;
    $("drop-shut").addEventListener("click", () => acts.send("drop-test", {}, $("drop-shut").dataset.words));
    $("drop-stop").addEventListener("click", () => acts.send("drop-test", { cancel: true }, "The test is stopped."));
    this.may = acts !== undefined;
  }

  show(p) {
    const d = p.drop_test, running = d !== undefined && d.state !== "over";
    $("drop").hidden = !worthSaying(d, p.time);
    if ($("drop").hidden) return;
    $("drop").dataset.verdict = verdicts[d.outcome] ?? "unsure";
    set("drop-sentence", d.sentence);
    set("drop-figures", this.figures(d, running));
    $("drop-acts").hidden = !this.may || !running;
    $("drop-shut").hidden = d.state !== "shut";
  }

  figures(d, running) {
    const words = [];
    if (d.took_s > 0) words.push(`Measured for ${span(d.took_s)}.`);
    if (running && d.left_s > 0) words.push(`About ${span(d.left_s)} more.`);
    const { factor, symbol } = this.settings.pressure, rate = (v) => +(v * factor).toPrecision(2);
    const r = d.rate_pa_per_h;
    if (d.allowed_pa_per_h !== null && r.high !== null) {
      words.push(`It leaks ${rate(Math.max(0, r.low ?? 0))} to ${rate(r.high)} ${symbol}/h and may leak ${rate(d.allowed_pa_per_h)}.`);
    }
    return words.join(" ");
  }
}
