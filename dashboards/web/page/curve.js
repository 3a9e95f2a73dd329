// Press time against the glue line's temperature, on a scale of hours that
// doubles evenly: a night and an hour are both legible.

const $ = (id) => document.getElementById(id);
const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

export function hours(seconds) {
  const h = seconds / 3600;
  return h >= 48 ? `${+(h / 24).toPrecision(2)} d` : h >= 1 ? `${+h.toPrecision(2)} h` : `${Math.round(h * 60)} min`;
}

export class Curve {
  constructor(temperature) {
    this.temperature = temperature;
    new ResizeObserver(() => this.chart?.setSize(this.size())).observe($("curve"));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.chart?.redraw(false));
  }

  size() {
    const box = $("curve").getBoundingClientRect();
    return { width: Math.max(200, Math.floor(box.width)), height: Math.floor(box.height) };
  }

  draw(points) {
    const { factor, offset, symbol } = this.temperature, column = (of) => points.map(of);
    const data = [
      column((p) => p.at_c * factor + offset),
      column((p) => p.strained_s.low), column((p) => p.strained_s.high), column((p) => p.strained_s.expected), column((p) => p.flat_s.expected),
    ];
    this.chart?.destroy();
    const said = data.slice(1).flat().filter((v) => v !== null && v > 0);
    $("curve").hidden = said.length === 0;
    if (!said.length) { this.chart = undefined; return; }
    this.chart = new uPlot(this.options(Math.min(...said), Math.max(...said), symbol), data, $("curve"));
    $("curve").setAttribute("aria-label", `Press time of bent work: ${this.words(points[0])}; ${this.words(points[points.length - 1])}. The table below has more.`);
  }

  words(p) {
    const at = `at ${+(p.at_c * this.temperature.factor + this.temperature.offset).toFixed(1)} ${this.temperature.symbol}`;
    return p.strained_s.expected === null ? `not usable ${at}` : `${hours(p.strained_s.expected)} ${at}`;
  }

  options(low, high, symbol) {
    const axis = { stroke: () => css("--faint"), grid: { stroke: () => css("--grid"), width: 1 }, ticks: { stroke: () => css("--grid") }, font: "14px system-ui, sans-serif" };
    const line = (colour, width, dash) => ({ stroke: () => css(colour), width, dash, scale: "time", points: { show: false } });
    const none = { stroke: "transparent", width: 0, scale: "time", points: { show: false } };
    const marks = [60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 28800, 57600, 86400, 172800, 345600, 604800, 1209600];
    return {
      ...this.size(), legend: { show: false }, cursor: { y: false, points: { show: false }, drag: { x: false, y: false } },
      scales: { x: { time: false }, time: { distr: 3, log: 2, range: () => [low / 1.3, high * 1.3] } },
      series: [{}, none, none, { ...line("--cure", 4, [0.1, 7]), cap: "round" }, line("--vacuum", 2.5)],
      bands: [{ series: [2, 1], fill: () => css("--cure") + "33" }],
      axes: [
        { ...axis, space: 54, values: (u, ticks) => ticks.map((v) => `${v} ${symbol}`) },
        { ...axis, scale: "time", size: 62, splits: () => marks.filter((m) => m >= low / 1.3 && m <= high * 1.3), filter: (u, ticks) => ticks, values: (u, ticks) => ticks.map(hours) },
      ],
      hooks: { setCursor: [(u) => this.read(u, symbol)] },
    };
  }

  read(u, symbol) {
    const i = u.cursor.idx;
    if (i === null || i === undefined) { $("readout").textContent = ""; return; }
    const [x, low, high, bent, flat] = u.data.map((d) => d[i]);
    const words = [`${x.toFixed(1)} ${symbol}`];
    if (bent !== null) words.push(`bent ${hours(low)} to ${hours(high)}`);
    if (flat !== null) words.push(`flat ${hours(flat)}`);
    $("readout").textContent = words.join(" · ");
  }
}
