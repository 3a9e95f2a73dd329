// Command nights measures the leak estimator over thousands of simulated nights
// and prints the table that the package's documentation quotes.
package main

import (
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/leak/nights/shed"
)

func main() {
	sound := flag.Int("sound", 1000, "sound nights with every nuisance")
	leaking := flag.Int("leaking", 50, "leaking nights of each rate")
	first := flag.Uint64("seed", 1, "first seed")
	verbose := flag.Bool("v", false, "tell of every false alarm and every miss")
	stillNights := flag.Int("still", 1000, "nights of white noise for the limit")
	engineNights := flag.Int("engine", 0, "sound nights through the whole engine of a press")
	dropTests := flag.Int("drop", 0, "drop tests of each kind")
	flag.Parse()
	if *stillNights > 0 {
		limit(*first, *stillNights, 20**leaking)
	}
	if *sound > 0 {
		quiet(*first, *sound, *verbose)
	}
	if *leaking > 0 {
		soon(*first, *leaking, *verbose)
	}
	if *dropTests > 0 {
		drop(*first, *dropTests)
	}
	if *engineNights > 0 {
		if err := engine(*first, *engineNights, *verbose); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

type outcome struct {
	seed        uint64
	found       float64 // s after the leak began; NaN: never
	early       bool    // found before it began
	onset       float64 // s that the onset is off
	rate, truth float64 // when found
	later       float64 // relative error of the rate at the deadline
	cover       bool    // its bounds held there
	settled     float64
	leaks       int // leak_found of the engine
	margins     int // margin_gone
	blocked     int // line_blocked
	est         leak.Estimate
}

// each runs f for every seed on all cores and returns what it gave, in order.
func each(first uint64, n int, f func(seed uint64) outcome) []outcome {
	out := make([]outcome, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range 2 {
		wg.Go(func() {
			for i := range next {
				out[i] = f(first + uint64(i))
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

func quiet(first uint64, n int, verbose bool) {
	begun := time.Now()
	all := each(first, n, func(seed uint64) outcome {
		night := shed.Draw(seed, shed.Part{}, shed.Leak{})
		o := outcome{seed: seed, found: math.NaN(), settled: math.NaN()}
		e := leak.New(leak.Config{Gassing: night.Gassing})
		next := 0.0
		night.Play(func(s shed.Step) bool {
			if s.TopUp {
				e.TopUp()
			}
			e.Add(s.Reading)
			if s.Reading.T < next {
				return true
			}
			next = s.Reading.T + 1
			got := e.Estimate()
			if got.Settled && math.IsNaN(o.settled) {
				o.settled = s.Reading.T
			}
			if got.Leaking && math.IsNaN(o.found) {
				o.found, o.est = s.Reading.T, got
			}
			o.rate = got.Rate
			o.cover = got.Low <= 0 && got.High >= 0
			return true
		})
		return o
	})
	var settled, rates []float64
	if verbose {
		for _, o := range all {
			if !(o.settled < 300*60) {
				fmt.Printf("  seed %d settles after %.0f min; %s\n", o.seed, o.settled/60, shed.Draw(o.seed, shed.Part{}, shed.Leak{}))
			}
		}
	}
	wrong, covered := 0, 0
	for _, o := range all {
		settled = append(settled, o.settled)
		rates = append(rates, math.Abs(o.rate))
		if o.cover {
			covered++
		}
		if !math.IsNaN(o.found) {
			wrong++
			if verbose {
				n := shed.Draw(o.seed, shed.Part{}, shed.Leak{})
				fmt.Printf("  seed %d: at %.0f s %.0f (%.0f) settled %v onset %.0f; %s\n", o.seed, o.found, o.est.Rate, o.est.Low, o.est.Settled, o.est.Onset, n)
			}
		}
	}
	fmt.Printf("sound nights: %d, false leaks: %d, settled after (median, 90 %%) %.0f %.0f min, |rate| at the end (median, 95 %%, max) %.0f %.0f %.0f Pa/h, bounds hold %.1f %%, %.0f s\n",
		n, wrong, at(settled, 0.5)/60, at(settled, 0.9)/60, at(rates, 0.5), at(rates, 0.95), at(rates, 1), 100*float64(covered)/float64(n), time.Since(begun).Seconds())
}

func soon(first uint64, n int, verbose bool) {
	for _, k := range []struct{ rate, within float64 }{{20000, 60}, {5000, 120}, {2000, 240}, {1000, 480}, {500, 1200}, {200, 7200}} {
		report(fmt.Sprintf("%5.0f Pa/h", k.rate), first, n, k.within, shed.Leak{PaPerH: k.rate, KeepsOn: true}, verbose)
	}
	report("2000 creep", first, n, 7200, shed.Leak{PaPerH: 2000, KeepsOn: true, Creep: true}, verbose)
	report("2000 seam ", first, n, 240, shed.Leak{PaPerH: 2000, KeepsOn: true, Seam: true}, verbose)
}

func report(name string, first uint64, n int, within float64, l shed.Leak, verbose bool) {
	all := each(first, n, func(seed uint64) outcome {
		l := l
		l.After = time.Duration(3+seed%6) * time.Hour
		night := shed.Draw(seed, shed.Part{NoisePa: 20, Every: time.Second, Well: true}, l)
		return watch(seed, night, within)
	})
	var delays, onsets, errs, later []float64
	missed, early, covered := 0, 0, 0
	for _, o := range all {
		switch {
		case o.early:
			early++
		case math.IsNaN(o.found):
			missed++
		default:
			delays = append(delays, o.found)
			onsets = append(onsets, math.Abs(o.onset))
			errs = append(errs, math.Abs(o.rate/o.truth-1))
			later = append(later, math.Abs(o.later))
			if o.cover {
				covered++
			}
		}
		if verbose && (o.early || !(o.found < 3600)) {
			fmt.Printf("  seed %d %s: found %.0f onset off %.0f rate %.0f (%.0f)\n", o.seed, name, o.found, o.onset, o.est.Rate, o.est.Low)
		}
	}
	fmt.Printf("%s: found %d, early %d, missed %d, delay (median, 90 %%, max) %.0f %.0f %.0f s, onset off %.0f %.0f s, rate then off %.0f %% %.0f %%, after %.0f s %.0f %% %.0f %%, bounds hold %.0f %%\n",
		name, len(delays), early, missed, at(delays, .5), at(delays, .9), at(delays, 1), at(onsets, .5), at(onsets, .9), 100*at(errs, .5), 100*at(errs, .9), within, 100*at(later, .5), 100*at(later, .9), 100*float64(covered)/float64(len(delays)))
}

func watch(seed uint64, night shed.Night, within float64) outcome {
	o := outcome{seed: seed, found: math.NaN(), later: math.NaN()}
	e := leak.New(leak.Config{Gassing: night.Gassing})
	began := night.Leak.After.Seconds()
	night.Play(func(s shed.Step) bool {
		if s.TopUp {
			e.TopUp()
		}
		e.Add(s.Reading)
		got := e.Estimate()
		since := s.Reading.T - began
		truth := night.Leak.PaPerH * s.Reading.Ambient / 101325 * (s.Truth.GasC + 273.15) / 293.15
		if night.Leak.Seam {
			truth *= s.Reading.Ambient / 101325 * (1 - (s.Truth.BagPa/s.Truth.AmbientPa)*(s.Truth.BagPa/s.Truth.AmbientPa))
		}
		if night.Leak.Creep {
			truth *= math.Min(1, since/7200)
		}
		if math.IsNaN(o.found) && got.Leaking {
			o.found, o.onset, o.rate, o.truth, o.est = since, got.Onset-began, got.Rate, truth, got
			o.early = since < 0
		}
		if since >= within && math.IsNaN(o.later) {
			o.later = got.Rate/truth - 1
			o.cover = got.Low <= truth && got.High >= truth
		}
		return math.IsNaN(o.found) || math.IsNaN(o.later)
	})
	return o
}

// at is the quantile q of v, NaN for none.
func at(v []float64, q float64) float64 {
	v = slices.DeleteFunc(slices.Clone(v), math.IsNaN)
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return v[int(math.Round(q*float64(len(v)-1)))]
}
