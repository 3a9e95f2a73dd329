// What a person does: start, top-up, note, glue, release, acknowledge. Each is
// written down by the daemon before the page says so.

import { ask } from "./api.js";
import { make } from "./make.js";

const $ = (id) => document.getElementById(id);

export class Acts {
  constructor(settings, current) {
    this.settings = settings;
    this.current = current; // () => the press that is shown
    $("acts").addEventListener("click", (e) => this.open(e.target.closest("button")?.dataset.act));
    for (const dialog of document.querySelectorAll("dialog[data-order]")) this.prepare(dialog);
    $("alert-list").addEventListener("click", (e) => this.acknowledge(e.target.closest("button")));
    $("start-glue").addEventListener("change", () => this.caution());
    $("weather-forget").addEventListener("click", () => {
      $("dialog-weather").close();
      this.send("weather", { forget: true }, "What was told of the weather is forgotten.");
    });
    ask("api/v1/glues").then((all) => this.offer(all), (err) => this.tell(err.message));
  }

  // Which buttons make sense at this stage.
  show(p) {
    const running = ["layup", "pulldown", "hold"].includes(p.stage);
    $("acts").hidden = false;
    $("weather-forget").hidden = p.weather === undefined;
    for (const b of $("acts").querySelectorAll("button")) {
      if (b.dataset.act !== "weather") b.hidden = b.dataset.act === "drop-test" ? p.stage === "layup" || (p.drop_test !== undefined && p.drop_test.state !== "over")
        : (b.dataset.act === "start") === running;
    }
  }

  path(verb, press = this.current().press) { return `api/v1/presses/${encodeURIComponent(press)}/${verb}`; }

  tell(words) {
    $("told").textContent = "";
    $("told").textContent = words;
  }

  open(act) {
    if (!act) return;
    if (act === "top-up") {
      this.send("top-up", {}, "Top-up written down.");
      return;
    }
    const dialog = $(`dialog-${act}`);
    if (act === "release") this.warn();
    if (act === "start") this.caution();
    dialog.querySelector("[role=alert]").textContent = "";
    dialog.showModal();
  }

  // Before a bag is opened, the page says what that would mean.
  warn() {
    const p = this.current(), s = p.shown, done = p.verdict === "done";
    $("release-words").textContent = done ? "The press time is earned. The blank may come out."
      : p.clamped_progress.expected === null ? "It is not known how far the glue has come. If you open now, the record says: opened early."
      : `Only ${s.progress} of the press time is earned under clamp${s.press_time_at ? `; the rest takes until ${s.press_time_at}` : ""}. If you open now, the record says: opened early.`;
    $("release-yes").textContent = done || p.clamped_progress.expected === null ? "Open the bag" : `Open it at ${s.progress}`;
  }

  prepare(dialog) {
    dialog.querySelector("[data-close]").addEventListener("click", () => dialog.close());
    dialog.querySelector("form").addEventListener("submit", async (e) => {
      e.preventDefault();
      const button = e.submitter;
      button.disabled = true;
      try {
        await ask(this.path(dialog.dataset.order), "POST", await this.read(dialog));
        dialog.close();
        dialog.querySelector("form").reset();
        this.tell(dialog.dataset.told);
      } catch (err) {
        dialog.querySelector("[role=alert]").textContent = err.message;
      } finally {
        button.disabled = false;
      }
    });
  }

  async read(dialog) {
    const form = new FormData(dialog.querySelector("form")), order = {};
    for (const [name, value] of form) {
      if (value === "") continue;
      if (name === "floor_pa") order[name] = Number(value) / this.settings.pressure.factor;
      else if (name === "hold_s") order[name] = Number(value) * 3600;
      else if (name === "low_c" || name === "high_c") order[name] = (Number(value) - this.settings.temperature.offset) / this.settings.temperature.factor;
      else if (name === "plies") order[name] = Number(value);
      else if (value instanceof File) {
        if (value.size) order[name] = await value.text();
      }
      else order[name] = value;
    }
    if (dialog.id === "dialog-start") order.strained = form.get("strained") !== null;
    return order;
  }

  async send(verb, body, told, press) {
    try {
      await ask(this.path(verb, press), "POST", body);
      this.tell(told);
    } catch (err) {
      this.tell(err.message);
    }
  }

  acknowledge(button) {
    if (!button) return;
    const hours = Number(button.dataset.snooze ?? 0);
    this.send("acknowledge", { alert: button.dataset.alert, ...(hours ? { snooze_s: hours * 3600 } : {}) },
      hours ? "Quiet for an hour, then it speaks up again." : "Written down that you look after it.",
      button.dataset.alert.startsWith("board/") ? "board" : undefined); // the board's own are shown with every press
  }

  offer(glues) {
    this.glues = glues;
    for (const id of ["start-glue", "glue-glue"]) {
      $(id).append(...glues.map((g) => make("option", { value: g.name }, g.title || g.name)));
    }
    for (const unit of ["pressure", "temperature"]) {
      document.querySelectorAll(`[data-unit=${unit}]`).forEach((n) => { n.textContent = this.settings[unit].symbol; });
    }
  }

  caution() {
    const glue = this.glues?.find((g) => g.name === $("start-glue").value);
    $("start-cautions").replaceChildren(...(glue?.cautions ?? []).map((c) => make("li", {}, c)));
  }
}
