package button_test

import (
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/button"
)

// play presses and releases the button for the given milliseconds in turn, begins
// with a release, and returns what was understood.
func play(step time.Duration, ms ...int) []button.Press {
	var d button.Decoder
	var all []button.Press
	at, closed := time.Duration(0), false
	for _, length := range append(ms, 2000) {
		for end := at + time.Duration(length)*time.Millisecond; at < end; at += step {
			if p := d.Sample(at, closed); p != "" {
				all = append(all, p)
			}
		}
		closed = !closed
	}
	return all
}

func TestPresses(t *testing.T) {
	for _, step := range []time.Duration{5 * time.Millisecond, 20 * time.Millisecond} {
		for _, c := range []struct {
			name string
			ms   []int
			want []button.Press
		}{
			{"nothing", nil, nil},
			{"short", []int{500, 200}, []button.Press{button.Short}},
			{"long", []int{500, 2500}, []button.Press{button.Long}},
			{"held on", []int{500, 60000}, []button.Press{button.Long}},
			{"double", []int{500, 200, 200, 200}, []button.Press{button.Double}},
			{"two apart", []int{500, 200, 900, 200}, []button.Press{button.Short, button.Short}},
			{"short, then long", []int{500, 200, 200, 2500}, []button.Press{button.Long}},
			{"three", []int{500, 150, 150, 150, 150, 150}, []button.Press{button.Double, button.Short}},
			{"glitch", []int{500, 20}, nil},
			{"bounces", []int{500, 5, 5, 10, 5, 200, 5, 5, 10, 5}, []button.Press{button.Short}},
		} {
			if got := play(step, c.ms...); !slices.Equal(got, c.want) {
				t.Errorf("%s in steps of %s: %v, want %v", c.name, step, got, c.want)
			}
		}
	}
}

// FuzzDecoder: whatever the contact does, presses come in no greater number than
// the contact closed, and the decoder does not break.
func FuzzDecoder(f *testing.F) {
	f.Add([]byte{50, 20, 20, 20})
	f.Add([]byte{50, 250, 1, 2, 3})
	f.Fuzz(func(t *testing.T, lengths []byte) {
		ms := make([]int, len(lengths))
		for i, l := range lengths {
			ms[i] = 10 * int(l)
		}
		if got := play(20*time.Millisecond, ms...); len(got) > (len(ms)+1)/2 {
			t.Errorf("%d presses of %d closings: %v", len(got), (len(ms)+1)/2, got)
		}
	})
}
