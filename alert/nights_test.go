//go:build full

package alert

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"testing/synctest"
	"text/tabwriter"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

const (
	nights     = 500
	nightFloor = 65e3 // Pa
	nightEvery = 5 * time.Second
	nightLong  = 48 * time.Hour // at most: until the glue is done or the floor is crossed
	// inTime is how long before the floor a builder must be woken to act,
	// where there was that much time between what went wrong and the floor.
	inTime = 15 * time.Minute
	// leastEdge and 15 % of the time that an estimate looks ahead are how near
	// the floor and the press time may come for either to be told first.
	leastEdge = 20 * time.Minute
	// atOnce is how soon he must be woken where there was not.
	atOnce = 2 * time.Minute
)

// nightKind is one kind of night and what goes wrong in it.
type nightKind struct {
	name  string
	share int
	spoil func(r *rand.Rand, c *sim.Config)
}

func nightKinds() []nightKind {
	hours := func(r *rand.Rand, from, to float64) time.Duration {
		return time.Duration((from + (to-from)*r.Float64()) * float64(time.Hour))
	}
	leak := func(r *rand.Rand, c *sim.Config, low, high float64) {
		rate := low * math.Pow(high/low, r.Float64())
		c.Scenario.Leaks = append(c.Scenario.Leaks, sim.Leak{From: hours(r, 0.4, 5), PaPerH: rate, Seam: r.IntN(2) == 0})
	}
	fault := func(r *rand.Rand, c *sim.Config, quantity string, kind sim.FaultKind, by float64) {
		from := hours(r, 1, 5)
		c.Scenario.Faults = append(c.Scenario.Faults, sim.Fault{Kind: kind, Quantity: quantity, From: from, To: from + hours(r, 0.3, 3), By: by})
	}
	return []nightKind{
		{"sound", 30, func(*rand.Rand, *sim.Config) {}},
		{"sound, spikes on the line", 8, func(r *rand.Rand, c *sim.Config) {
			for range 1 + r.IntN(3) {
				from := hours(r, 0.5, 10)
				c.Scenario.Faults = append(c.Scenario.Faults, sim.Fault{Kind: sim.Spike, Quantity: "bag", From: from, To: from + time.Minute, By: 20e3})
			}
		}},
		{"storm front", 8, func(r *rand.Rand, c *sim.Config) {
			from := hours(r, 0.5, 6)
			c.Scenario.Fronts = []sim.Front{{From: from, To: from + hours(r, 1, 6), ByPa: 2500 * (2*r.Float64() - 1)}}
		}},
		{"slow leak", 10, func(r *rand.Rand, c *sim.Config) { leak(r, c, 150, 900) }},
		{"leak", 16, func(r *rand.Rand, c *sim.Config) { leak(r, c, 1200, 12e3) }},
		{"fast leak", 8, func(r *rand.Rand, c *sim.Config) { leak(r, c, 20e3, 400e3) }},
		{"bag opens", 6, func(r *rand.Rand, c *sim.Config) { c.Scenario.Release = hours(r, 0.6, 5) }},
		{"bag sensor fails", 8, func(r *rand.Rand, c *sim.Config) {
			if r.IntN(2) == 0 {
				fault(r, c, "bag", sim.Silent, 0)
			} else {
				fault(r, c, "bag", sim.Jump, 30e3) // it reads below the floor
			}
		}},
		{"thermometer fails", 6, func(r *rand.Rand, c *sim.Config) { fault(r, c, "glueline", sim.Silent, 0) }},
	}
}

// played is one simulated night and what was told of it.
type played struct {
	seed    uint64
	kind    string
	crossed time.Time // when the true vacuum went below the floor; zero: it did not
	doneAt  time.Time // when the glue would be done if the clamp held; zero: never
	lostAt  time.Time // when the film would be lost to the cold if nobody warmed it; zero: never
	grace   time.Duration
	likely  bool      // the film was expected to be wet when it was lost: else it may have set before
	setAt   time.Time // when the film was expected to have set; zero: not
	chilled bool      // it was cold for more than half of what loses it, and not lost
	wrongAt time.Time // when it began to go wrong
	blind   bool      // the bag's pressure could not be known
	changes []press.Alert
	lastAt  time.Time
}

func playNight(seed uint64, sheet *cure.Sheet) played {
	r := rand.New(rand.NewPCG(seed, 77))
	cfg := sim.BoatShed()
	cfg.Seed, cfg.Start = seed, sim.BoatShedBegins(time.UTC)
	cfg.Scenario = sim.Scenario{
		PumpRuns: []sim.PumpRun{{From: 6 * time.Minute, To: 16 * time.Minute}},
		Leaks:    []sim.Leak{{PaPerH: 20 + 60*r.Float64()}},
	}
	cfg.Bag.FreeVolumeL = 3 + 12*r.Float64()
	cfg.Shop.MeanC = 14.5 + 6*r.Float64()
	n := played{seed: seed}
	kinds, pick := nightKinds(), r.IntN(100)
	for _, k := range kinds {
		if pick -= k.share; pick < 0 {
			n.kind = k.name
			k.spoil(r, &cfg)
			break
		}
	}
	for _, l := range cfg.Scenario.Leaks[1:] {
		n.wrongAt = cfg.Start.Add(l.From)
	}
	if cfg.Scenario.Release > 0 {
		n.wrongAt = cfg.Start.Add(cfg.Scenario.Release)
	}
	for _, f := range cfg.Scenario.Faults {
		if f.Quantity == "bag" && f.Kind != sim.Spike {
			n.blind, n.wrongAt = true, cfg.Start.Add(f.From)
		}
	}
	n.grace = sheet.GraceTime()
	n.play(cfg, sheet)
	return n
}

func (n *played) play(cfg sim.Config, sheet *cure.Sheet) {
	bag := sim.New(cfg)
	run := press.New(press.Config{Site: "shed", Press: "deck", Sheet: sheet, FloorPa: nightFloor})
	book := NewBook(Config{})
	truth := cure.NewProgress(sheet, cure.Options{Strained: true})
	held := false
	for at := time.Duration(0); at < nightLong && !n.known(); at += nightEvery {
		now := cfg.Start.Add(at)
		events := run.Advance(bag.Step(now))
		if at == 0 {
			events = append(events, run.Start(now)...)
		}
		n.changes = append(n.changes, book.Advance(events, run.Status())...)
		state := bag.State()
		vacuum := state.AmbientPa - state.BagPa
		held = held || vacuum > nightFloor+5e3
		if !held {
			continue
		}
		truth.Add(at.Seconds(), state.GluelineC, true)
		if truth.State().Earned.Expected >= 1 && n.doneAt.IsZero() {
			n.doneAt = now
		}
		if st := truth.State(); st.Lost && n.lostAt.IsZero() {
			n.lostAt, n.likely = now, truth.LikelyWet()
		} else {
			n.chilled = !st.Lost && st.ColdFor > sheet.GraceTime().Seconds()/2
		}
		if n.setAt.IsZero() && !truth.LikelyWet() {
			n.setAt = now
		}
		if vacuum < nightFloor && n.crossed.IsZero() {
			n.crossed = now
		}
		n.lastAt = now
	}
	if n.blind && !n.doneAt.IsZero() && n.wrongAt.After(n.doneAt) {
		n.blind = false // the glue was done before
	}
}

// known reports whether the night has shown all that it can.
func (n *played) known() bool {
	past := func(at time.Time, by time.Duration) bool { return !at.IsZero() && n.lastAt.Sub(at) > by }
	return past(n.doneAt, n.edge()) || past(n.crossed, max(30*time.Minute, n.edge()))
}

// edge is how near to each other the floor and the press time may come for it to
// be nobody's fault which of the two an estimate made hours before puts first.
func (n *played) edge() time.Duration {
	until := n.doneAt
	if until.IsZero() {
		until = n.crossed
	}
	if n.wrongAt.IsZero() || until.IsZero() {
		return leastEdge
	}
	return max(leastEdge, time.Duration(0.15*float64(until.Sub(n.wrongAt))))
}

func (n *played) onTheEdge() bool {
	return !n.crossed.IsZero() && !n.doneAt.IsZero() && n.crossed.Sub(n.doneAt).Abs() < n.edge()
}

// woken is when the first wake about the bag was told; zero: never.
func (n *played) woken() time.Time {
	for _, a := range n.changes {
		if a.Severity == press.Wake && a.State == press.AlertRaised && a.Name != TooCold {
			return a.At
		}
	}
	return time.Time{}
}

// wokenByCold is when the cold woke first; zero: never.
func (n *played) wokenByCold() time.Time {
	for _, a := range n.changes {
		if a.Severity == press.Wake && a.State == press.AlertRaised && a.Name == TooCold {
			return a.At
		}
	}
	return time.Time{}
}

// heatInTime is how long before the film is lost somebody must be woken.
const heatInTime = 15 * time.Minute

// judge says what the night should have been and whether it was.
func (n *played) judge() (needed, ok bool, why string) {
	needed, ok, why = n.judgeBag()
	cold := n.wokenByCold()
	switch {
	case n.lostAt.IsZero() && cold.IsZero(), !n.lostAt.IsZero() && !n.likely:
		return needed, ok, why
	case !n.lostAt.IsZero() && (cold.IsZero() || n.lostAt.Sub(cold) < heatInTime):
		return true, false, fmt.Sprintf("the film was lost at %s, woken by the cold at %s; %s", n.lostAt.Format("15:04:05"), cold.Format("15:04:05"), why)
	case !n.lostAt.IsZero():
		return true, ok, why
	}
	// It went on long enough to tell, and the film did not set at about that time.
	told := n.lastAt.Sub(cold) > n.grace*3/2
	nearlySet := !n.setAt.IsZero() && n.setAt.Sub(cold) < leastEdge
	if told && !nearlySet && !n.chilled {
		return needed, false, fmt.Sprintf("woken by the cold at %s, and the film was not in danger; %s", cold.Format("15:04:05"), why)
	}
	return needed, ok, why
}

// judgeBag is the same of the bag alone.
func (n *played) judgeBag() (needed, ok bool, why string) {
	woken := n.woken()
	crossed := n.crossed
	if !n.doneAt.IsZero() && crossed.After(n.doneAt) {
		crossed = time.Time{}
	}
	needed = !crossed.IsZero() || n.blind
	switch {
	case n.onTheEdge():
		return false, true, ""
	case !needed && woken.IsZero():
		return false, true, ""
	case !needed:
		return false, false, fmt.Sprintf("woken at %s for nothing: %s", woken.Format("15:04:05"), n.firstWake())
	case woken.IsZero():
		return true, false, fmt.Sprintf("not woken; floor crossed %s", n.crossed.Format("15:04:05"))
	case n.blind && crossed.IsZero():
		return true, woken.Sub(n.wrongAt) < 20*time.Minute, fmt.Sprintf("blind at %s, woken at %s", n.wrongAt.Format("15:04:05"), woken.Format("15:04:05"))
	}
	why = fmt.Sprintf("wrong from %s, floor at %s, woken at %s: %s", n.wrongAt.Format("15:04:05"), n.crossed.Format("15:04:05"), woken.Format("15:04:05"), n.firstWake())
	if n.crossed.Sub(n.wrongAt) > inTime+45*time.Minute {
		return true, n.crossed.Sub(woken) >= inTime, why
	}
	return true, woken.Sub(n.crossed) <= atOnce, why
}

func (n *played) firstWake() string {
	for _, a := range n.changes {
		if a.Severity == press.Wake && a.State == press.AlertRaised && a.Name != TooCold {
			return a.Name + ": " + a.Text
		}
	}
	return ""
}

// problems counts the different problems that were told, at least so loud.
func (n *played) problems(atLeast press.Severity) int {
	ids := map[string]bool{}
	for _, a := range n.changes {
		if rank(a.Severity) >= rank(atLeast) && a.State == press.AlertRaised {
			ids[a.ID] = true
		}
	}
	return len(ids)
}

// TestFiveHundredNights plays seeded nights with random faults through the
// simulated bag, the engine and the book: every night that needed waking wakes
// in time to act where physics allows it, and no sound night does.
func TestFiveHundredNights(t *testing.T) {
	sheet, _, err := datasheets.Load("uf-two-part-slow")
	if err != nil {
		t.Fatal(err)
	}
	type line struct{ nights, edge, needed, inTime, missed, cried, wakes, told int }
	lines := map[string]*line{}
	var sent tally
	for seed := uint64(1); seed <= nights; seed++ {
		n := playNight(seed, sheet)
		l := lines[n.kind]
		if l == nil {
			l = &line{}
			lines[n.kind] = l
		}
		l.nights++
		l.wakes += n.problems(press.Wake)
		l.told += n.problems(press.Note)
		sent.add(deliverNight(t, &n))
		needed, ok, why := n.judge()
		if n.onTheEdge() {
			l.edge++
		}
		if needed {
			l.needed++
		}
		switch {
		case needed && ok:
			l.inTime++
		case needed:
			l.missed++
		case !ok:
			l.cried++
		}
		if !ok {
			t.Errorf("night %d (%s): %s", seed, n.kind, why)
		}
	}
	w := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "kind\tnights\ton the edge\tneeded waking\twoken in time\tlate or never\tfalse wakes\talerts that woke\ttold at all\t")
	for _, k := range nightKinds() {
		if l := lines[k.name]; l != nil {
			fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t\n", k.name, l.nights, l.edge, l.needed, l.inTime, l.missed, l.cried, l.wakes, l.told)
		}
	}
	w.Flush()
	fmt.Printf("messages %d, received %d times, answers lost on the way %d, failed tries %d, replaced by a newer one %d, never received %d\n",
		sent.messages, sent.received, sent.answersLost, sent.failed, sent.superseded, sent.never)
}

// tally is what came of the messages of a night.
type tally struct{ messages, received, answersLost, failed, superseded, never int }

func (t *tally) add(o tally) {
	t.messages += o.messages
	t.received += o.received
	t.answersLost += o.answersLost
	t.failed += o.failed
	t.superseded += o.superseded
	t.never += o.never
}

// deliverNight sends what was told in a night over a network that comes and
// goes, and that sometimes loses the answer after it took the message.
func deliverNight(t *testing.T, n *played) (sum tally) {
	if len(n.changes) == 0 {
		return sum
	}
	synctest.Test(t, func(t *testing.T) {
		r := rand.New(rand.NewPCG(n.seed, 99))
		down, over := false, false
		received := map[string]int{}
		var order []press.Delivery
		p := &phone{fail: func(d press.Delivery) error {
			if down && !over {
				sum.failed++
				return errors.New("no route to host")
			}
			if received[d.Key]++; received[d.Key] == 1 {
				order = append(order, d)
			}
			sum.received++
			if !over && r.IntN(20) == 0 {
				sum.answersLost++
				return errors.New("connection reset by peer")
			}
			return nil
		}}
		ways := Ways{list: []openWay{{Way{Name: "p", AtLeast: press.Note}, p}}}
		b := newBox()
		d := NewDispatcher(b, ways, quiet())
		runDispatcher(t, d)
		start, first := time.Now(), n.changes[0].At
		for _, a := range n.changes {
			if r.IntN(3) == 0 {
				p.mu.Lock()
				down = !down
				p.mu.Unlock()
			}
			time.Sleep(a.At.Sub(first) - time.Since(start))
			b.put(ways.Deliveries([]press.Alert{a})...)
			d.Wake()
		}
		p.mu.Lock()
		over = true
		p.mu.Unlock()
		time.Sleep(30 * time.Minute)
		synctest.Wait()
		sum.messages = len(b.list)
		for _, d := range b.list {
			if d.Error == takenPlace {
				sum.superseded++
			}
		}
		sum.never = checkDelivered(t, n, b, received, order)
		if sum.received > sum.messages-sum.superseded+sum.answersLost {
			t.Errorf("night %d: %d messages were received %d times, with %d answers lost", n.seed, sum.messages, sum.received, sum.answersLost)
		}
	})
	return sum
}

// checkDelivered counts the messages that never came and finds those of one
// alert that came out of order.
func checkDelivered(t *testing.T, n *played, b *box, received map[string]int, order []press.Delivery) (never int) {
	place := map[string]int{}
	for i, d := range b.list {
		place[d.Key] = i
		if d.Error == takenPlace {
			continue
		}
		if received[d.Key] == 0 || b.stateOf(d.Key) != "sent" {
			never++
			t.Errorf("night %d: message %s was never received", n.seed, d.Key)
		}
	}
	last := map[string]int{}
	for _, d := range order {
		if d.Error != takenPlace && place[d.Key] < last[d.AlertID] {
			t.Errorf("night %d: message %s came out of order", n.seed, d.Key)
		}
		last[d.AlertID] = place[d.Key]
	}
	return never
}
