package press

import "time"

// Coarse rounds a moment that is forecast at now as the sentence does: no finer
// than it is known. Whatever shows such a moment beside the sentence rounds it
// with this.
func Coarse(t, now time.Time) time.Time { return words{st: Status{Time: now}}.coarse(t) }
