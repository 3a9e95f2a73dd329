// Times of day as the daemon's config shows them, whatever zone the phone is in.

export class Clock {
  constructor(settings) {
    this.zone = settings.zone;
    this.twelve = settings.clock12;
  }

  offset(unix) {
    let offset = this.zone.length ? this.zone[0].offset_s : 0;
    for (const step of this.zone) {
      if (step.from > unix) break;
      offset = step.offset_s;
    }
    return offset;
  }

  // A Date whose getters of local time give the daemon's wall clock: what uPlot asks for.
  wall(unix) {
    const d = new Date((unix + this.offset(unix)) * 1000);
    return new Date(d.getUTCFullYear(), d.getUTCMonth(), d.getUTCDate(), d.getUTCHours(), d.getUTCMinutes(), d.getUTCSeconds());
  }

  time(unix) {
    const d = new Date((unix + this.offset(unix)) * 1000);
    const two = (n) => String(n).padStart(2, "0");
    if (!this.twelve) return `${two(d.getUTCHours())}:${two(d.getUTCMinutes())}`;
    return `${d.getUTCHours() % 12 || 12}:${two(d.getUTCMinutes())} ${d.getUTCHours() < 12 ? "am" : "pm"}`;
  }

  day(unix) {
    const d = new Date((unix + this.offset(unix)) * 1000);
    return ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"][d.getUTCDay()];
  }
}

// Rounds a moment that is forecast at now as the daemon's sentence does.
export function coarse(t, now) {
  const ahead = t - now;
  const step = ahead < 7200 ? 60 : ahead < 21600 ? 300 : ahead < 86400 ? 600 : 3600;
  return Math.round(t / step) * step;
}

// A span of time, as long as people care.
export function span(seconds) {
  const s = Math.max(0, Math.round(seconds));
  if (s < 60) return `${s} s`;
  if (s < 3600) return `${Math.floor(s / 60)} min`;
  const h = Math.floor(s / 3600), m = Math.floor((s % 3600) / 60);
  if (h < 48) return m ? `${h} h ${m} min` : `${h} h`;
  return `${Math.floor(h / 24)} d ${h % 24} h`;
}

// Unix seconds of a time in JSON; undefined for none. Go's zero time is none.
export function unix(text) {
  if (!text || text.startsWith("0001-")) return undefined;
  return Date.parse(text) / 1000;
}
