package leak

import (
	"math"
	"math/rand/v2"
	"testing"
)

// watch plays a night and returns the T of every change of Leaking, and the
// estimate at the end.
func watch(t *testing.T, n night, each func(e *Estimator, r *Reading)) (changes []float64, end Estimate) {
	t.Helper()
	e, leaking := New(Config{}), false
	n.play(func(r Reading, _ float64) {
		if each != nil {
			each(e, &r)
		}
		e.Add(r)
		end = e.Estimate()
		if end.Leaking != leaking {
			leaking = end.Leaking
			changes = append(changes, r.T-1000)
		}
		if end.Known && !(end.Low <= end.Rate && end.Rate <= end.High) {
			t.Fatalf("bounds the wrong way round: %+v", end)
		}
	})
	return changes, end
}

func TestResealedSeamEndsTheLeak(t *testing.T) {
	n := sound
	n.leakAt, n.leak, n.sealAt, n.hours = 4, 2000, 5, 8
	changes, end := watch(t, n, nil)
	if len(changes) != 2 || changes[0] > 4*hour+240 || changes[1] < 5*hour || changes[1] > 5.6*hour {
		t.Errorf("changes at %v s: %+v", changes, end)
	}
	if end.High > 150 || !math.IsNaN(end.Onset) {
		t.Errorf("after the seam was sealed: %+v", end)
	}
}

func TestTopUpKeepsTheLeak(t *testing.T) {
	n := sound
	n.leakAt, n.leak, n.hours = 2, 1000, 8
	drop := 0.0
	changes, end := watch(t, n, func(e *Estimator, r *Reading) {
		if at := r.T - 1000; at == 5*hour || at == 6*hour {
			drop -= 2000
			e.TopUp()
		}
		r.Bag += drop
	})
	if len(changes) != 1 || math.Abs(end.Onset-1000-2*hour) > 120 {
		t.Errorf("changes at %v s: %+v", changes, end)
	}
	near(t, "rate", end.Rate, 1000, 0.05)
}

func TestGapIsResumed(t *testing.T) {
	n := sound
	n.hours = 10
	from := 0.0
	changes, end := watch(t, n, func(e *Estimator, r *Reading) {
		// Nothing for two hours, in which somebody opened the bag and pumped it anew.
		if at := r.T - 1000; at > 5*hour {
			r.T += 2 * hour
			r.Bag += 1500
		}
		if r.T < from {
			t.Fatal("time goes back")
		}
		from = r.T
	})
	if len(changes) != 0 || !end.Known {
		t.Errorf("changes at %v s: %+v", changes, end)
	}
}

func TestNuisancesAreNoLeak(t *testing.T) {
	for name, change := range map[string]func(at float64, r *Reading){
		"a jump up": func(at float64, r *Reading) {
			if at > 4*hour {
				r.Bag += 700
			}
		},
		"a small jump": func(at float64, r *Reading) {
			if at > 4*hour {
				r.Bag += 130
			}
		},
		"a slow valve": func(at float64, r *Reading) { r.Bag += 20 * math.Max(0, math.Min(at-4*hour, 25)) },
		"spikes": func(at float64, r *Reading) {
			if at > 2*hour && int(at)%11 == 0 {
				r.Bag += 3000
			}
		},
		"stuck": func(at float64, r *Reading) {
			if at > 4*hour && at < 4.5*hour {
				r.Bag = 17500
			}
		},
		"no temperature for an hour": func(at float64, r *Reading) {
			if at > 4*hour && at < 5*hour {
				r.Gas = missing
			}
		},
		"no barometer": func(_ float64, r *Reading) { r.Ambient = missing },
		"missing readings": func(at float64, r *Reading) {
			if int(at)%3 == 0 {
				r.Bag = missing
			}
		},
		"a step of the barometer": func(at float64, r *Reading) {
			if at > 4*hour {
				r.Ambient -= 300
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			n := sound
			n.hours = 7
			if changes, end := watch(t, n, func(_ *Estimator, r *Reading) { change(r.T-1000, r) }); len(changes) != 0 {
				t.Errorf("a leak at %v s: %+v", changes, end)
			}
		})
	}
}

func TestIrregularReadings(t *testing.T) {
	n := sound
	n.hz, n.hours, n.leakAt, n.leak = 5, 6, 4, 2000
	e, k, found := New(Config{}), 0, math.NaN()
	n.play(func(r Reading, _ float64) {
		// Now quick, now slow, now not at all.
		if k++; k%7 != 0 && k%11 != 0 && (k/3000)%2 == 0 || k%40 == 0 {
			e.Add(r)
		}
		if e.Estimate().Leaking && math.IsNaN(found) {
			found = r.T - 1000 - 4*hour
		}
	})
	if !(found > 0 && found < 300) {
		t.Errorf("found after %.0f s: %+v", found, e.Estimate())
	}
}

func TestForecast(t *testing.T) {
	n := sound
	n.leakAt, n.leak, n.hours = 2, 2000, 6
	e := New(Config{})
	n.play(func(r Reading, _ float64) { e.Add(r) })
	// 65 kPa of vacuum, some 19 kPa from where it is, at 2 kPa/h.
	want := (e.room - 65e3 - e.pressure) / 2000 * hour
	c := e.Forecast(65e3, 48*hour)
	if !(c.Early <= c.Expected && c.Expected <= c.Late) {
		t.Errorf("out of order: %+v", c)
	}
	near(t, "expected", c.Expected, want, 0.05)
	if c := e.Forecast(65e3, want/2); !math.IsInf(c.Early, 1) {
		t.Errorf("beyond the horizon, but %+v", c)
	}
	if c := e.Forecast(99e3, hour); c != (Crossing{}) {
		t.Errorf("below already, but %+v", c)
	}
	if c := New(Config{}).Forecast(65e3, hour); !math.IsInf(c.Early, 1) {
		t.Errorf("nothing known, but %+v", c)
	}
}

func TestNothingIsAllocated(t *testing.T) {
	e, at := New(Config{}), 0.0
	if n := testing.AllocsPerRun(20000, func() {
		at++
		e.Add(Reading{T: at, Bag: 16000 + math.Mod(at*7919, 61) + at, Ambient: 101325, Gas: 15, Air: 15})
		e.Estimate()
		e.Forecast(65e3, 48*hour)
	}); n != 0 {
		t.Errorf("%v allocations a reading", n)
	}
}

// Whatever is fed, the estimator neither panics nor gives numbers that are none.
func FuzzAdd(f *testing.F) {
	f.Add(1.0, 16000.0, 101325.0, 15.0, 14.0, uint8(10))
	f.Add(0.1, 0.0, 0.0, -300.0, 1e9, uint8(1))
	f.Add(1e6, 1e8, math.Inf(1), math.NaN(), math.Inf(-1), uint8(200))
	f.Fuzz(func(t *testing.T, dt, bag, room, gas, air float64, wild uint8) {
		e := New(Config{Gassing: wild%2 == 0})
		for i := range 300 {
			at := math.Abs(dt) * float64(i)
			r := Reading{T: at, Bag: bag + float64(i%(int(wild)+1))*float64(wild), Ambient: room, Gas: gas, Air: air}
			if i%50 == 49 {
				e.TopUp()
			}
			e.Add(r)
			got := e.Estimate()
			if math.IsNaN(got.Rate) || math.IsNaN(got.Low) || math.IsNaN(got.High) || math.IsNaN(got.Noise) {
				t.Fatalf("reading %d (%+v): %+v", i, r, got)
			}
			e.Forecast(65e3, 48*hour)
		}
	})
}

// A gauge part that is stuck reads on at the barometer's pace: the weather turns,
// and no leak comes of it. One that reads still finds it.
func TestStuckGaugePart(t *testing.T) {
	for _, stuck := range []bool{true, false} {
		rng := rand.New(rand.NewPCG(7, 7))
		e := New(Config{})
		for i := range 5 * 3600 {
			at, room, gauge := float64(i), 101325+2*rng.NormFloat64(), -80000+5*rng.NormFloat64()
			if late := at - 4*hour; late > 0 {
				rise := 1500 * late / hour
				if stuck {
					room, gauge = room+rise, -80000
				} else {
					gauge += rise
				}
			}
			e.Add(Reading{T: at, Bag: room + gauge, Ambient: room, Gas: 15, Air: 15})
		}
		if got := e.Estimate(); got.Leaking == stuck {
			t.Errorf("stuck %v: %+v", stuck, got)
		}
	}
}

// A part that sticks at a reading far out would look as if the bag rose: it is
// not believed for longer than it would rest by itself.
func TestShortRestsAreNoLeak(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	e := New(Config{})
	held := 0.0
	for i := range 700 * 1800 {
		read := 16000 + 20*rng.NormFloat64()
		if i%1800 < 50 && i > 4*3600 {
			if i%1800 == 0 {
				held = read
			}
			read = held
		}
		e.Add(Reading{T: float64(i), Bag: read, Ambient: 101325, Gas: 15, Air: 15})
		if e.Estimate().Leaking {
			t.Fatalf("a leak %d s after the part stuck at %+.0f Pa", i%1800, held-16000)
		}
	}
}

// What comes after a part was stuck, for longer than a gap, is watched again.
func TestStuckPartComesBack(t *testing.T) {
	n := sound
	n.leakAt, n.leak, n.hours = 5, 2000, 6
	changes, _ := watch(t, n, func(_ *Estimator, r *Reading) {
		if at := r.T - 1000; at > 4*hour && at < 4.5*hour {
			r.Bag = 17500
		}
	})
	if len(changes) != 1 || changes[0] < 5*hour || changes[0] > 5*hour+240 {
		t.Errorf("a leak of 2 kPa/h from 5 h on: changes at %v s", changes)
	}
}
