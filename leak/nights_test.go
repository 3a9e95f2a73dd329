package leak_test

import (
	"math"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/leak/nights/shed"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// soundNights plays sound nights with every nuisance and returns in how many of
// them a leak was found.
func soundNights(t *testing.T, from, n uint64) (wrong int) {
	t.Helper()
	for seed := from; seed < from+n; seed++ {
		night := shed.Draw(seed, shed.Part{}, shed.Leak{})
		e := leak.New(leak.Config{Gassing: night.Gassing})
		night.Play(func(s shed.Step) bool {
			if s.TopUp {
				e.TopUp()
			}
			e.Add(s.Reading)
			got := e.Estimate()
			if got.Leaking {
				wrong++
				t.Logf("seed %d, %.0f s: %+v", seed, s.Reading.T, got)
			}
			return !got.Leaking
		})
	}
	return wrong
}

// delays plays nights in which a leak begins, and returns how long it took to be
// found, s, and by how much the rate was off at the deadline.
func delays(from, n uint64, rate, deadline float64) (found, off []float64) {
	for seed := from; seed < from+n; seed++ {
		after := time.Duration(3+seed%6) * time.Hour
		night := shed.Draw(seed, shed.Part{NoisePa: 20, Every: time.Second, Well: true}, shed.Leak{PaPerH: rate, After: after, KeepsOn: true})
		e := leak.New(leak.Config{Gassing: night.Gassing})
		first, wrongBy := math.Inf(1), math.NaN()
		night.Play(func(s shed.Step) bool {
			e.Add(s.Reading)
			since, got := s.Reading.T-after.Seconds(), e.Estimate()
			if got.Leaking {
				first = math.Min(first, since)
			}
			if since >= deadline && math.IsNaN(wrongBy) {
				truth := rate * s.Reading.Ambient / 101325 * (s.Truth.GasC + 273.15) / 293.15
				wrongBy = math.Abs(got.Rate/truth - 1)
			}
			return math.IsInf(first, 1) || math.IsNaN(wrongBy)
		})
		found, off = append(found, first), append(off, wrongBy)
	}
	return found, off
}

func TestSoundNightsOfThePhysicalBag(t *testing.T) {
	if wrong := soundNights(t, 1, 8); wrong > 0 {
		t.Errorf("%d false leaks", wrong)
	}
}

// The demo: a seam opens to 2 kPa/h five hours and twenty minutes after the
// begin and is pressed shut at a top-up, so that a trickle of 60 Pa/h remains.
func TestBoatShed(t *testing.T) {
	cfg := sim.BoatShed()
	bag, e := sim.New(cfg), leak.New(leak.Config{})
	begin := sim.BoatShedBegins(time.UTC)
	var changes []float64
	leaking, pumped := false, false
	for at := time.Duration(0); at < 28*time.Hour; at += time.Second {
		s := bag.Step(begin.Add(at))
		if at < 22*time.Minute {
			continue
		}
		if bag.State().Pumping {
			pumped = true
			continue
		}
		if pumped && at > time.Hour {
			e.TopUp()
		}
		pumped = false
		e.Add(leak.Reading{T: at.Seconds(), Bag: s.Bag, Ambient: s.Ambient, Gas: s.GlueLine, Air: s.Air})
		if got := e.Estimate(); got.Leaking != leaking {
			leaking = got.Leaking
			changes = append(changes, at.Seconds())
		}
	}
	const opens, shut = 5*3600 + 20*60, 6*3600 + 31*60
	if len(changes) != 2 || changes[0] < opens || changes[0] > opens+240 || changes[1] < shut || changes[1] > shut+3600 {
		t.Errorf("the leak opens at %d s and is shut at %d s; said at %v s", opens, shut, changes)
	}
}
