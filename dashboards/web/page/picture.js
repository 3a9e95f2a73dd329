// The margin as a picture: vacuum on its way down to the floor and the cure on
// its way up to done, on one time axis, so that the eye sees which comes first.

import { coarse } from "./clock.js";
import { ahead, horizon } from "./forecast.js";

const $ = (id) => document.getElementById(id);
const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const tint = (name, share) => () => css(name) + Math.round(share * 255).toString(16).padStart(2, "0");

// How far ticks of the time may be apart, s. No label tells seconds, so no two may
// stand within a minute.
const minute = 60, hour = 3600, day = 86400;
const apart = [1, 2, 5, 10, 15, 30].map((n) => n * minute).concat(
  [1, 2, 3, 4, 6, 8, 12].map((n) => n * hour), [1, 2, 3, 4, 7, 14, 28, 56, 112].map((n) => n * day));

export class Picture {
  constructor(settings, clock, unix) {
    Object.assign(this, { settings, clock, unix });
    this.empty();
    this.resizer = new ResizeObserver(() => this.chart?.setSize(this.size()));
    this.resizer.observe($("picture"));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.chart?.redraw(false));
  }

  empty() {
    this.t = []; this.low = []; this.mean = []; this.high = []; this.cure = [];
    this.tail = 0;
  }

  size() {
    const box = $("picture").getBoundingClientRect();
    return { width: Math.max(200, Math.floor(box.width)), height: Math.floor(box.height) };
  }

  setHistory(h) {
    this.empty();
    const f = this.settings.pressure.factor, scaled = (v) => (v === null ? null : v * f);
    const n = h.t.length, none = new Array(n).fill(null);
    this.t = h.t;
    this.low = h.vacuum_pa ? h.vacuum_pa.min.map(scaled) : none;
    this.mean = h.vacuum_pa ? h.vacuum_pa.mean.map(scaled) : none;
    this.high = h.vacuum_pa ? h.vacuum_pa.max.map(scaled) : none;
    this.cure = h.clamped_progress ? h.clamped_progress.map((v) => (v === null ? null : v * 100)) : none.slice();
    this.step = n > 1 ? (h.t[n - 1] - h.t[0]) / n : 1;
  }

  // Many live points have been added since the record was last asked.
  wantsHistory() { return this.tail > 240; }

  push(p) {
    const t = this.unix(p.time);
    if (t === undefined) return;
    const v = p.vacuum_pa === null ? null : p.vacuum_pa * this.settings.pressure.factor;
    const c = p.clamped_progress.expected === null ? null : p.clamped_progress.expected * 100;
    const last = this.t.length - 1;
    if (last < 0 || t - this.t[last] >= this.step) {
      this.t.push(t); this.low.push(v); this.mean.push(v); this.high.push(v); this.cure.push(c);
      this.tail++;
    } else if (t >= this.t[last] && v !== null) {
      this.low[last] = Math.min(this.low[last] ?? v, v);
      this.high[last] = Math.max(this.high[last] ?? v, v);
      this.mean[last] = v;
      this.cure[last] = c;
    }
    this.draw(p);
  }

  draw(p) {
    this.p = p;
    this.now = this.unix(p.time);
    this.floor = p.floor_pa === null ? null : p.floor_pa * this.settings.pressure.factor;
    this.floorAt = this.unix(p.floor_at?.expected);
    this.doneAt = this.unix(p.press_time_at?.expected);
    this.end = horizon(p, this.now, this.unix);
    const f = ahead(p, this.now, this.end, this.unix, this.settings.pressure.factor);
    const n = this.t.length, gap = new Array(n).fill(null), open = new Array(f.t.length).fill(null);
    const data = [
      this.t.concat(f.t),
      this.low.concat(open), this.high.concat(open), this.mean.concat(open), this.cure.concat(open),
      gap.concat(f.low), gap.concat(f.high), gap.concat(f.mean),
      gap.concat(f.cureLow), gap.concat(f.cureHigh), gap.concat(f.cure),
    ];
    if (this.chart) this.chart.setData(data);
    else this.chart = new uPlot(this.options(), data, $("picture"));
    if (p.past) requestAnimationFrame(() => performance.mark("drawn")); // how long a run takes to open
    this.describe(p, f);
  }

  options() {
    const ahead = [7, 5], thin = { stroke: "transparent", width: 0, points: { show: false } };
    const line = (colour, width, dash, scale) => ({ stroke: () => css(colour), width, dash, scale, points: { show: false }, spanGaps: false });
    const axis = { stroke: () => css("--faint"), grid: { stroke: () => css("--grid"), width: 1 }, ticks: { stroke: () => css("--grid") }, font: "14px system-ui, sans-serif" };
    return {
      ...this.size(),
      padding: [26, 0, 0, 0],
      tzDate: (ts) => this.clock.wall(ts),
      legend: { show: false },
      cursor: { y: false, points: { show: false }, drag: { x: false, y: false } },
      scales: {
        x: { time: true, range: () => [this.t[0] ?? this.now - 3600, this.p.past ? this.now : Math.max(this.end, this.now + 60)] },
        vacuum: { range: (u, lo, hi) => this.vacuumRange(lo, hi) },
        cure: { range: () => [0, 108] },
      },
      series: [
        {},
        { ...thin, scale: "vacuum" }, { ...thin, scale: "vacuum" }, line("--vacuum", 2.5, undefined, "vacuum"), { ...line("--cure", 4, [0.1, 7], "cure"), cap: "round" },
        { ...thin, scale: "vacuum" }, { ...thin, scale: "vacuum" }, line("--vacuum", 2, ahead, "vacuum"),
        { ...thin, scale: "cure" }, { ...thin, scale: "cure" }, line("--cure", 2, ahead, "cure"),
      ],
      bands: [
        { series: [2, 1], fill: tint("--vacuum", 0.3) },
        { series: [6, 5], fill: tint("--vacuum", 0.2) },
        { series: [9, 8], fill: tint("--cure", 0.18) },
      ],
      axes: [
        { ...axis, values: (u, ticks) => ticks.map((t) => this.tick(t)), space: 54, incrs: apart },
        { ...axis, scale: "vacuum", size: 46, values: (u, ticks) => ticks.map((v) => String(+v.toFixed(2))) },
        { ...axis, scale: "cure", side: 1, size: 60, grid: { show: false }, values: (u, ticks) => ticks.filter((v) => v <= 100).map((v) => v + "%") },
      ],
      hooks: { drawClear: [(u) => this.under(u)], draw: [(u) => this.over(u)], setCursor: [(u) => this.read(u)] },
    };
  }

  tick(t) {
    const time = this.clock.time(t);
    return time === "00:00" || time === "12:00 am" ? `${time}\n${this.clock.day(t)}` : time;
  }

  vacuumRange(lo, hi) {
    const f = this.settings.pressure.factor, least = 5000 * f;
    const floor = this.floor ?? lo;
    const now = this.p.vacuum_pa === null ? floor : this.p.vacuum_pa * f;
    if (this.p.past) return [0, Math.max(hi ?? 0, floor) + least];
    return [Math.max(0, Math.min(floor, now) - 2 * least), Math.max(hi ?? 0, floor, now) + least];
  }

  // The span between the two arrivals, behind the lines.
  under(u) {
    const { floorAt, doneAt, end } = this;
    if (doneAt === undefined || doneAt <= this.now) return;
    const short = floorAt !== undefined && floorAt < doneAt;
    const from = u.valToPos(short ? floorAt : doneAt, "x", true);
    const to = u.valToPos(short ? doneAt : Math.min(floorAt ?? end, end), "x", true);
    const { top, height } = u.bbox;
    u.ctx.save();
    u.ctx.fillStyle = tint(short ? "--bad" : "--good", 0.13)();
    u.ctx.fillRect(from, top, to - from, height);
    u.ctx.restore();
  }

  over(u) {
    const { ctx } = u, r = uPlot.pxRatio, { left, top, width, height } = u.bbox;
    ctx.save();
    ctx.setLineDash([]);
    ctx.lineCap = "butt";
    ctx.font = `${14 * r}px system-ui, sans-serif`;
    ctx.lineWidth = 2 * r;
    if (this.floor !== null) {
      const y = u.valToPos(this.floor, "vacuum", true);
      ctx.strokeStyle = ctx.fillStyle = css("--floor");
      this.stroke(ctx, [[left, y], [left + width, y]]);
      this.label(u, `floor ${this.p.shown.floor}`, left, y + 5 * r, "top");
    }
    ctx.fillStyle = css("--faint");
    ctx.textBaseline = "bottom";
    ctx.textAlign = "right";
    ctx.fillText(this.settings.pressure.symbol, left - 6 * r, top - 6 * r);
    ctx.textAlign = "left";
    ctx.fillText("cured", left + width + 6 * r, top - 6 * r);
    if (this.p.past) {
      ctx.restore();
      return;
    }
    const x = u.valToPos(this.now, "x", true);
    ctx.strokeStyle = ctx.fillStyle = css("--ink");
    ctx.lineWidth = 1.5 * r;
    this.stroke(ctx, [[x, top], [x, top + height]]);
    this.label(u, "now", x, top + height - 6 * r, "bottom");
    this.arrival(u, this.p.floor_at, this.floor, "vacuum", "--floor", "floor", 22);
    this.arrival(u, this.p.press_time_at, 100, "cure", "--cure", "done", 22);
    ctx.restore();
  }

  // A mark where a line gets there, with a bar from the earliest to the latest.
  arrival(u, when, value, scale, colour, word, drop) {
    const at = this.unix(when?.expected);
    if (at === undefined || value === null || at < this.now || at > this.end) return;
    const r = uPlot.pxRatio, { ctx } = u, y = u.valToPos(value, scale, true), x = u.valToPos(at, "x", true);
    const edge = (t) => u.valToPos(Math.min(Math.max(t ?? this.end, this.now), this.end), "x", true);
    ctx.strokeStyle = ctx.fillStyle = css(colour);
    ctx.lineWidth = 5 * r;
    this.stroke(ctx, [[edge(this.unix(when.early)), y], [edge(this.unix(when.late)), y]]);
    ctx.beginPath();
    if (scale === "vacuum") { ctx.moveTo(x - 9 * r, y - 14 * r); ctx.lineTo(x + 9 * r, y - 14 * r); ctx.lineTo(x, y); }
    else ctx.rect(x - 7 * r, y - 7 * r, 14 * r, 14 * r);
    ctx.fill();
    this.label(u, `${word} ${this.clock.time(coarse(at, this.now))}`, x, y + drop * r, "top");
  }

  label(u, words, x, y, baseline) {
    const { ctx } = u, r = uPlot.pxRatio, w = ctx.measureText(words).width, { left, width } = u.bbox;
    const at = Math.min(Math.max(x - w / 2, left + 3 * r), left + width - w - 3 * r);
    ctx.textBaseline = baseline;
    ctx.save();
    ctx.strokeStyle = css("--sheet");
    ctx.lineWidth = 5 * r;
    ctx.lineJoin = "round";
    ctx.strokeText(words, at, y);
    ctx.restore();
    ctx.fillText(words, at, y);
  }

  stroke(ctx, points) {
    ctx.beginPath();
    points.forEach(([x, y], i) => (i ? ctx.lineTo(x, y) : ctx.moveTo(x, y)));
    ctx.stroke();
  }

  read(u) {
    const i = u.cursor.idx;
    if (i === null || i === undefined) { $("readout").textContent = ""; return; }
    const d = u.data, v = d[3][i] ?? d[7][i], c = d[4][i] ?? d[10][i], later = d[0][i] > this.now;
    const words = [this.clock.time(d[0][i]) + (later ? ", forecast" : "")];
    if (v !== null && v !== undefined) words.push(`vacuum ${v.toFixed(1)} ${this.settings.pressure.symbol}`);
    if (c !== null && c !== undefined) words.push(`cure ${Math.floor(c)} %`);
    $("readout").textContent = words.join(" · ");
  }

  // The picture in words, for those who do not see it.
  describe(p, f) {
    const s = p.shown;
    if (p.past) {
      $("picture").setAttribute("aria-label", `Vacuum and cure of the whole run. Floor ${s.floor}, cured ${s.progress} under clamp.`);
      this.tabulate(f);
      return;
    }
    const words = [`Vacuum ${s.vacuum}, floor ${s.floor}.`, `Cured ${s.progress}.`];
    if (s.press_time_at) words.push(`Done at ${s.press_time_at}${s.press_time_span ? ` (${s.press_time_span})` : ""}.`);
    words.push(s.floor_at ? `Vacuum at the floor at ${s.floor_at}${s.floor_span ? ` (${s.floor_span})` : ""}.` : "The floor is not in sight.");
    $("picture").setAttribute("aria-label", words.join(" "));
    if ($("table").closest("details").open || !$("table").children.length) this.tabulate(f);
  }

  tabulate(f) {
    const rows = [], unit = this.settings.pressure.symbol;
    const row = (t, v, c, note) => {
      const tr = document.createElement("tr");
      for (const cell of [this.clock.time(t) + note, v === null ? "–" : `${v.toFixed(1)} ${unit}`, c === null ? "–" : `${Math.floor(c)} %`]) {
        tr.append(Object.assign(document.createElement("td"), { textContent: cell }));
      }
      rows.push(tr);
    };
    const every = Math.max(1, Math.floor(this.t.length / 12));
    for (let i = 0; i < this.t.length; i += every) row(this.t[i], this.mean[i], this.cure[i], "");
    for (let i = 6; i < f.t.length; i += 6) row(f.t[i], f.mean[i], f.cure[i], " forecast");
    $("table").replaceChildren(...rows);
  }
}


