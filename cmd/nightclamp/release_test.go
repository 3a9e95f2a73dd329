package main

import (
	"testing"

	"github.com/nightclamp/nightclamp/press"
)

func TestTooEarly(t *testing.T) {
	for name, c := range map[string]struct {
		st   press.Status
		want bool
	}{
		"in the hold":  {press.Status{Stage: press.Hold, Glue: "pva-d3", Verdict: press.WillHold}, true},
		"pulling down": {press.Status{Stage: press.Pulldown, Glue: "pva-d3"}, true},
		"done":         {press.Status{Stage: press.Hold, Glue: "pva-d3", Verdict: press.Done}, false},
		"no adhesive":  {press.Status{Stage: press.Hold, Verdict: press.Unsure}, false},
		"still wet":    {press.Status{Stage: press.Layup, Glue: "pva-d3"}, false},
		"nothing runs": {press.Status{}, false},
	} {
		if got := tooEarly(c.st); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}
