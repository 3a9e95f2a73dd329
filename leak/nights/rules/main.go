// Command rules plays the nights of leak/nights to a real Prometheus engine and
// measures what a user would otherwise write: a threshold on deriv() of the bag
// pressure, and predict_linear() of the vacuum against the floor. Each rule is
// given the threshold at which it is wrong in at most one of the sound nights,
// as the estimator is. It is a module of its own, so that the engine burdens
// nobody else.
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"log/slog"
	"math"
	"os"
	"slices"
	"sort"
	"time"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/leak/nights/shed"
	"github.com/prometheus/prometheus/model/labels"
	"github.com/prometheus/prometheus/promql"
	"github.com/prometheus/prometheus/storage"
	"github.com/prometheus/prometheus/tsdb"
)

const (
	scrape   = 15 * time.Second
	evaluate = time.Minute
	settled  = 2 * time.Hour // the rules know of no settling: they start late
	night    = 12 * time.Hour
	floor    = 65e3 // Pa
)

// rule is an expression whose value grows with the danger.
type rule struct{ name, expr string }

func rules() []rule {
	return []rule{
		{"deriv 5m", `deriv(bag_pressure_pascals[5m]) * 3600`},
		{"deriv 15m", `deriv(bag_pressure_pascals[15m]) * 3600`},
		{"deriv 30m", `deriv(bag_pressure_pascals[30m]) * 3600`},
		{"deriv 1h", `deriv(bag_pressure_pascals[1h]) * 3600`},
		{"predict_linear 30m, 8h", fmt.Sprintf(`%g - predict_linear(vacuum_pascals[30m], 28800)`, floor)},
		{"predict_linear 1h, 8h", fmt.Sprintf(`%g - predict_linear(vacuum_pascals[1h], 28800)`, floor)},
	}
}

func main() {
	sound := flag.Int("sound", 200, "sound nights")
	leaking := flag.Int("leaking", 20, "leaking nights of each rate")
	well := flag.Bool("well", false, "tune on nights in which the part has no faults")
	flag.Parse()
	if err := run(*sound, *leaking, shed.Part{Well: *well}); err != nil {
		log.Fatal(err)
	}
}

func run(sound, leaking int, part shed.Part) error {
	limits, wrong, err := tune(sound, part)
	if err != nil {
		return err
	}
	fmt.Printf("%d sound nights, the estimator is wrong in %d; each rule gets the threshold at which it is wrong in one\n", sound, wrong)
	fmt.Printf("%-10s | %-22s", "", "estimator")
	for i, r := range rules() {
		fmt.Printf(" | %s > %.0f", r.name, limits[i])
	}
	fmt.Println()
	for _, rate := range []float64{20000, 5000, 2000, 1000, 500} {
		if err := compare(rate, leaking, limits); err != nil {
			return err
		}
	}
	return nil
}

// tune finds the threshold of every rule.
func tune(n int, part shed.Part) (limits []float64, wrong int, err error) {
	most := make([][]float64, len(rules()))
	for seed := range n {
		v, found, err := play(shed.Draw(uint64(seed+1), part, shed.Leak{}))
		if err != nil {
			return nil, 0, err
		}
		if !math.IsNaN(found) {
			wrong++
		}
		for i := range v {
			most[i] = append(most[i], slices.Max(append(values(v[i], settled), math.Inf(-1))))
		}
	}
	for _, m := range most {
		sort.Float64s(m)
		limits = append(limits, m[len(m)-2])
	}
	return limits, wrong, nil
}

func compare(rate float64, n int, limits []float64) error {
	delays := make([][]float64, len(limits)+1)
	for seed := range n {
		after := time.Duration(3+seed%6) * time.Hour
		nt := shed.Draw(uint64(seed+1), shed.Part{NoisePa: 20, Every: time.Second, Well: true}, shed.Leak{PaPerH: rate, KeepsOn: true, After: after})
		v, found, err := play(nt)
		if err != nil {
			return err
		}
		delays[0] = append(delays[0], found-after.Seconds())
		for i, limit := range limits {
			delays[i+1] = append(delays[i+1], first(v[i], after, limit))
		}
	}
	fmt.Printf("%5.0f Pa/h", rate)
	for _, d := range delays {
		missed := 0
		for i := range d {
			if math.IsNaN(d[i]) {
				missed++
				d[i] = math.Inf(1)
			}
		}
		sort.Float64s(d)
		fmt.Printf(" | median %5.0f s, missed %d", d[len(d)/2], missed)
	}
	fmt.Println()
	return nil
}

func values(series []promql.FPoint, from time.Duration) []float64 {
	var v []float64
	for _, p := range series {
		if p.T >= from.Milliseconds() {
			v = append(v, p.F)
		}
	}
	return v
}

// first is how long after the leak began the rule fires, s; NaN for never.
func first(series []promql.FPoint, after time.Duration, limit float64) float64 {
	for _, p := range series {
		if p.T >= after.Milliseconds() && p.F > limit {
			return float64(p.T)/1000 - after.Seconds()
		}
	}
	return math.NaN()
}

// play gives a night to the estimator, a reading at a time, and to the engine,
// a scrape at a time. It returns the rules' values and when the leak was found.
func play(n shed.Night) (v [][]promql.FPoint, found float64, err error) {
	dir, err := os.MkdirTemp("", "rules")
	if err != nil {
		return nil, 0, fmt.Errorf("make a folder for the samples: %w", err)
	}
	defer func() { _ = os.RemoveAll(dir) }()
	opts := tsdb.DefaultOptions()
	opts.MinBlockDuration = (48 * time.Hour).Milliseconds()
	opts.MaxBlockDuration = opts.MinBlockDuration
	db, err := tsdb.Open(dir, slog.New(slog.DiscardHandler), nil, opts, nil)
	if err != nil {
		return nil, 0, fmt.Errorf("open the samples' store: %w", err)
	}
	defer func() { _ = db.Close() }()
	if found, err = record(n, db); err != nil {
		return nil, 0, err
	}
	for _, r := range rules() {
		series, err := query(db, r.expr)
		if err != nil {
			return nil, 0, err
		}
		v = append(v, series)
	}
	return v, found, nil
}

func record(n shed.Night, db *tsdb.DB) (found float64, err error) {
	app := db.Appender(context.Background())
	bag, vacuum := labels.FromStrings("__name__", "bag_pressure_pascals"), labels.FromStrings("__name__", "vacuum_pascals")
	e := leak.New(leak.Config{Gassing: n.Gassing})
	found = math.NaN()
	next := 0.0
	n.Play(func(s shed.Step) bool {
		if s.TopUp {
			e.TopUp()
		}
		e.Add(s.Reading)
		if math.IsNaN(found) && e.Estimate().Leaking {
			found = s.Reading.T
		}
		if s.Reading.T < next || math.IsNaN(s.Reading.Bag) {
			return true
		}
		next = s.Reading.T + scrape.Seconds()
		ms := int64(s.Reading.T * 1000)
		if _, err = app.Append(0, bag, ms, s.Reading.Bag); err == nil {
			_, err = app.Append(0, vacuum, ms, s.Reading.Ambient-s.Reading.Bag)
		}
		return err == nil
	})
	if err != nil {
		return found, fmt.Errorf("append a sample: %w", err)
	}
	return found, app.Commit()
}

func query(q storage.Queryable, expr string) ([]promql.FPoint, error) {
	engine := promql.NewEngine(promql.EngineOpts{MaxSamples: 1e8, Timeout: time.Minute})
	defer func() { _ = engine.Close() }()
	ctx := context.Background()
	asked, err := engine.NewRangeQuery(ctx, q, nil, expr, time.UnixMilli(0), time.UnixMilli(0).Add(night), evaluate)
	if err != nil {
		return nil, fmt.Errorf("ask for %s: %w", expr, err)
	}
	defer asked.Close()
	result := asked.Exec(ctx)
	m, err := result.Matrix()
	if err != nil {
		return nil, fmt.Errorf("work out %s: %w", expr, err)
	}
	if len(m) == 0 {
		return nil, nil
	}
	return slices.Clone(m[0].Floats), nil
}
