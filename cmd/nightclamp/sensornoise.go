package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/scan"
)

// heard is one reading of one sensor.
type heard struct {
	press, sensor string
	sample        sensor.Sample
	gave          string // by the part, before it was converted; empty: not known
	err           error
}

// rawer is a source that also tells what its part gave: counts, V, mA.
type rawer interface{ Raw() string }

// retryAfter is how long a sensor that failed is left alone.
const retryAfter = 2 * time.Second

// keepListening calls take as listen does, and opens a sensor again that cannot be
// opened or failed to read, until ctx ends or a recorded source does.
func keepListening(ctx context.Context, p config.Press, s config.Sensor, take func(heard)) {
	for {
		failed := false
		sitting, leave := context.WithCancel(ctx)
		err := listen(sitting, p, s, func(h heard) {
			if failed = h.err != nil; failed {
				leave()
				if errors.Is(h.err, io.EOF) {
					return
				}
				h.err = fmt.Errorf("%w; trying again", h.err)
			}
			take(h)
		})
		leave()
		switch {
		case ctx.Err() != nil:
			return
		case err == nil && !failed:
			return // a recorded source at its end
		case err != nil:
			take(heard{press: p.Name, sensor: s.Name, err: fmt.Errorf("cannot be opened: %w; trying again", err)})
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(retryAfter):
		}
	}
}

// listen opens a configured sensor and calls take with every reading and every
// failure until ctx ends or a recorded source is at its end.
func listen(ctx context.Context, p config.Press, s config.Sensor, take func(heard)) error {
	part, err := configurePart(s)
	if err != nil {
		return err
	}
	source, err := part.Open(ctx)
	if err != nil {
		return err
	}
	defer source.Close() //nolint:errcheck // it was only read
	tick := time.NewTicker(max(p.Interval.Std(), part.Every))
	defer tick.Stop()
	for {
		patience, done := context.WithTimeout(ctx, part.Timeout)
		sample, err := source.Read(patience)
		done()
		if ctx.Err() != nil {
			return nil
		}
		h := heard{press: p.Name, sensor: s.Name, sample: sample, err: err}
		if part, ok := source.(rawer); ok && err == nil {
			h.gave = part.Raw()
		}
		take(h)
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

func (a *app) sensorNoiseCmd() *cobra.Command {
	name, length := "", units.Duration(5*time.Minute)
	c := &cobra.Command{
		Use: "noise", Short: "Measure the noise of the bag's pressure, and what leak it lets through", Args: cobra.NoArgs,
		Long: `Noise reads the bag's pressure for a while and says how much it scatters, and from
that how long a leak of a given rate must run before anything could tell it from
the noise, with one false alarm in a thousand nights of twelve hours.

That time is the theoretical best for white noise: t = (6 σ² ln(ARL) / (r² fs))^(1/3)
with the noise σ, the leak r, the readings a second fs and the mean number of
readings between false alarms ARL (Lorden 1971, Moustakides 1986). Expect twice
as long: nightclamp knows neither the leak's rate nor its beginning.

Measure with the bag sealed and the pump off, or with the line open to the room;
a pump that runs and a hand on the bag are in the noise too. A steady drift is
taken out. Noise that is much above the part's datasheet comes from the wiring,
the supply, or a pump nearby.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.measureNoise(cmd.Context(), name, length.Std())
		},
	}
	c.Flags().StringVarP(&name, "press", "p", "", "this press; not needed when there is one")
	c.Flags().Var(&length, "for", "how long to measure")
	a.jsonFlag(c)
	return c
}

// seen is how long a leak of a rate takes to be seen.
type seen struct {
	PaPerH  float64 `json:"pa_per_h"`
	BestS   float64 `json:"best_s"`
	ExpectS float64 `json:"expect_s"`
}

// noiseText is what noise found, as --json prints it.
type noiseText struct {
	Press  string     `json:"press"`
	Sensor string     `json:"sensor"`
	Noise  scan.Noise `json:"noise"` // Pa
	Failed int        `json:"failed"`
	Leaks  []seen     `json:"leaks"`
}

func (a *app) measureNoise(ctx context.Context, name string, length time.Duration) error {
	cfg, err := a.config()
	if err != nil {
		return err
	}
	p, s, err := bagSensor(cfg, name)
	if err != nil {
		return usageError{err}
	}
	if !a.asJSON {
		fmt.Fprintf(a.err, "Reading %s of press %s for %s; Ctrl-C ends it early.\n", s.Name, p.Name, units.Duration(length))
	}
	ctx, cancel := context.WithTimeout(ctx, length)
	defer cancel()
	var at []time.Time
	var pa []float64
	var last error
	text := noiseText{Press: p.Name, Sensor: s.Name}
	err = listen(ctx, p, s, func(h heard) {
		switch {
		case h.err != nil:
			text.Failed, last = text.Failed+1, h.err
		case h.sample.Knows(sensor.Bag):
			at, pa = append(at, h.sample.Time), append(pa, h.sample.Bag)
		}
	})
	if err != nil {
		return err
	}
	if text.Noise, err = scan.Measure(at, pa); err != nil {
		return errors.Join(fmt.Errorf("press %s: sensor %s: %d readings: %w", p.Name, s.Name, len(pa), err), last)
	}
	text.Leaks = leaks(text.Noise)
	if a.asJSON {
		return a.printJSON(text)
	}
	return a.printNoise(text, cfg.Display.Units())
}

// bagSensor is the first sensor of a press that reads the bag.
func bagSensor(cfg *config.Config, name string) (config.Press, config.Sensor, error) {
	if err := cfg.CheckSensors(); err != nil {
		return config.Press{}, config.Sensor{}, err
	}
	for _, p := range cfg.Presses {
		if name != "" && p.Name != name {
			continue
		}
		for _, s := range p.Sensors {
			if part, err := configurePart(s); err == nil && slices.Contains(part.Reads, sensor.Bag) {
				return p, s, nil
			}
		}
	}
	if name != "" {
		return config.Press{}, config.Sensor{}, fmt.Errorf("no press %q with a sensor that reads the bag", name)
	}
	return config.Press{}, config.Sensor{}, errors.New("no sensor reads the bag: add one to a press in the config (nightclamp sensor scan)")
}

// leaks are rates from one that hardly matters in a night to one that opens a
// bag in minutes. A part that never moved shows no noise to reckon with.
func leaks(z scan.Noise) []seen {
	list := []seen{}
	if z.Sigma() == 0 {
		return list
	}
	for _, rate := range []float64{100, 300, 1000, 3000, 10000, 30000} {
		best := z.Sees(rate / 3600).Seconds()
		list = append(list, seen{PaPerH: rate, BestS: best, ExpectS: 2 * best})
	}
	return list
}

// memory is the correlation above which noise is not taken for white.
const memory = 0.2

func (a *app) printNoise(text noiseText, d units.Display) error {
	z := text.Noise
	var b strings.Builder
	fmt.Fprintf(&b, "%d readings in %.0f s, %.1f a second, %d failed; mean %s, drift %s\n", z.N, z.Seconds, z.Hz, text.Failed, d.Pressure(z.Mean), d.Rate(z.PerHour))
	fmt.Fprintf(&b, "noise %.2g Pa (standard deviation about a straight line), step %.2g Pa\n\n", z.SD, z.Step)
	if len(text.Leaks) == 0 {
		b.WriteString("No reading differed from the next: the noise is below the part's step, or the part\nrepeats itself. Let in a little air: does it move?\n")
		_, err := fmt.Fprint(a.out, b.String())
		return err
	}
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "A LEAK OF\tIS SEEN AT BEST AFTER\tEXPECT")
	for _, l := range text.Leaks {
		fmt.Fprintf(w, "%s\t%s\t%s\n", d.Rate(l.PaPerH), short(l.BestS), short(l.ExpectS))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	b.WriteString("\nOne false alarm in 1000 nights of 12 h. At best: the theoretical bound for white\nnoise (Lorden 1971, Moustakides 1986). Expect: twice that.\n")
	if z.Lag1 > memory {
		fmt.Fprintf(&b, "\nThis noise is not white (a reading and the next correlate by %.2f): the times are too\nshort, by about %.1f times. A pump that runs, or a part that smooths?\n",
			z.Lag1, slower(z.Lag1))
	}
	_, err := fmt.Fprint(a.out, b.String())
	return err
}

// slower is how much longer a leak takes to be seen in noise of a first-order
// memory: its variance over long times is (1+ρ)/(1−ρ) of that of white noise,
// and the bound goes with the cube root of it.
func slower(lag1 float64) float64 { return math.Cbrt((1 + lag1) / (1 - lag1)) }

// short writes seconds as a person would say them.
func short(seconds float64) string {
	switch {
	case seconds < 1:
		return "1 s"
	case seconds < 120:
		return fmt.Sprintf("%.0f s", seconds)
	case seconds < 7200:
		return fmt.Sprintf("%.0f min", seconds/60)
	}
	return fmt.Sprintf("%.1f h", seconds/3600)
}
