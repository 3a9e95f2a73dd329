package leak

import "testing"

func TestDropTestJudges(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*night)
		need   Need
		want   Verdict
		within float64 // s
	}{
		"tight":           {func(n *night) { n.leak = 30 }, Need{10 * hour, 65e3}, Holds, 2 * hour},
		"slow but enough": {func(n *night) { n.leak = 600 }, Need{10 * hour, 65e3}, Holds, 3 * hour},
		"too fast":        {func(n *night) { n.leak = 5000 }, Need{10 * hour, 65e3}, Fails, 2 * hour},
		"burst":           {func(n *night) { n.leak = 60000 }, Need{10 * hour, 65e3}, Fails, 0.7 * hour},
		"no settling":     {func(n *night) { n.leak, n.settle = 300, 0 }, Need{10 * hour, 65e3}, Holds, 0.5 * hour},
	} {
		t.Run(name, func(t *testing.T) {
			n := sound
			n.hours = c.within / hour
			c.change(&n)
			d := NewDropTest(Config{}, c.need)
			var got Drop
			n.play(func(r Reading, _ float64) {
				if d.Add(r); got.Verdict == NotYet {
					got = d.State()
				}
			})
			t.Logf("%+v", got)
			if got.Verdict != c.want {
				t.Errorf("%+v", d.State())
			}
		})
	}
}

func TestDropTestBeforeAnything(t *testing.T) {
	if got := NewDropTest(Config{}, Need{hour, 65e3}).State(); got.Verdict != NotYet {
		t.Errorf("%+v", got)
	}
}
