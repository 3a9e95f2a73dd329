package press

import "time"

// Coarse rounds a moment that is forecast at now as the sentence does: no finer
// than it is known. Whatever shows such a moment beside the sentence rounds it
// with this.
func Coarse(t, now time.Time) time.Time { return words{st: Status{Time: now}}.coarse(t) }

// NoLater is as Coarse for a moment by which something must be done: it is rounded
// down.
func NoLater(t, now time.Time) time.Time { return t.Truncate(words{st: Status{Time: now}}.step(t)) }
