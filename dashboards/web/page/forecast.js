// What is ahead, as the daemon forecast it. Nothing is reckoned here: a line is
// drawn from what is now to each moment that the daemon named.

const hour = 3600;

// How far ahead the picture goes.
export function horizon(p, now, unix) {
  const done = [p.press_time_at?.late, p.press_time_at?.expected].map(unix).filter((t) => t > now);
  const floor = [p.floor_at?.expected, p.floor_at?.early].map(unix).filter((t) => t > now);
  const needed = done.length ? Math.max(...done) : floor.length ? Math.max(...floor) : now;
  const room = Math.max(needed - now, hour);
  const crossing = floor.filter((t) => t - now < 2 * room);
  return needed === now && !floor.length ? now : Math.max(needed, ...crossing) + 0.06 * room;
}

export function ahead(p, now, end, unix, factor) {
  const f = { t: [], low: [], mean: [], high: [], cureLow: [], cure: [], cureHigh: [] };
  if (!(end > now)) return f;
  const vacuum = (at, rate) => falling(p.vacuum_pa, p.floor_pa, now, unix(at), rate);
  const mean = vacuum(p.floor_at?.expected, p.leak_rate_pa_per_h.expected);
  const low = vacuum(p.floor_at?.early, p.leak_rate_pa_per_h.high);
  const high = vacuum(p.floor_at?.late, p.leak_rate_pa_per_h.low);
  const c = p.clamped_progress, at = p.press_time_at ?? {};
  const cure = rising(c.expected, now, unix(at.expected));
  const cureLow = rising(c.low ?? c.expected, now, unix(at.late));
  const cureHigh = rising(c.high ?? c.expected, now, unix(at.early));
  const steps = 60, scale = (v) => (v === null ? null : v * factor);
  for (let i = 0; i <= steps; i++) {
    const t = now + ((end - now) * i) / steps;
    f.t.push(t);
    f.mean.push(scale(mean(t))); f.low.push(scale(low(t))); f.high.push(scale(high(t)));
    f.cure.push(cure(t)); f.cureLow.push(cureLow(t)); f.cureHigh.push(cureHigh(t));
  }
  return f;
}

// From the vacuum now to the floor at its moment; without one, by the rate.
function falling(vacuum, floor, now, at, ratePerHour) {
  if (vacuum === null) return () => null;
  let perSecond;
  if (at !== undefined && at > now && floor !== null) perSecond = (vacuum - floor) / (at - now);
  else if (ratePerHour !== null && ratePerHour !== undefined) perSecond = Math.max(0, ratePerHour) / hour;
  else return () => null;
  return (t) => Math.max(0, vacuum - perSecond * (t - now));
}

// From the share earned now to the whole at its moment, in percent; a moment
// that does not come leaves the share where it is.
function rising(share, now, at) {
  if (share === null || share === undefined) return () => null;
  if (share >= 1) return () => 100;
  if (at === undefined || at <= now) return () => share * 100;
  return (t) => Math.min(1, share + ((1 - share) * (t - now)) / (at - now)) * 100;
}
