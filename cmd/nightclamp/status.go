package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// The exit codes of status, for scripts: the worst of what holds on any press.
const (
	statusFine    = 0
	statusDoubt   = 10 // the bag may not hold, or a sensor is silent
	statusTrouble = 11 // the bag will not hold, or does not now
)

func (a *app) statusCmd() *cobra.Command {
	var name string
	c := &cobra.Command{
		Use:     "status",
		GroupID: "watch",
		Short:   "Say whether the bag will hold until the glue has cured",
		Long: `Status prints one sentence for each press and the numbers behind it.

Exit codes, the worst of all presses:
   0  nothing to worry about: idle, holding, done
  10  in doubt: the bounds overlap, or a sensor does not answer or is not believed
  11  trouble: the bag will not hold, is below the floor or open, or the glue is lost
   1  the daemon did not answer
   2  the arguments are wrong`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			client, cfg, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			all, err := client.Status(cmd.Context(), name)
			if err != nil {
				return err
			}
			if a.asJSON {
				err = a.printJSON(all)
			} else {
				err = a.printStatus(all, cfg.Display.Units())
			}
			if code := worst(all); err == nil && code != statusFine {
				return exitCode(code)
			}
			return err
		},
	}
	c.Flags().StringVarP(&name, "press", "p", "", "only this press")
	a.jsonFlag(c)
	return c
}

func worst(all []press.Status) int {
	code := statusFine
	for _, st := range all {
		code = max(code, trouble(st))
	}
	return code
}

// trouble is the exit code for one press.
func trouble(st press.Status) int {
	code := statusFine
	for _, c := range st.Conditions {
		switch c.Kind {
		case press.VacuumLost, press.BelowFloor, press.MarginGone, press.AssemblyOver:
			return statusTrouble
		case press.SensorSilent, press.SensorStuck, press.SensorJumped, press.AssemblyShort, press.TooCold, press.LineBlocked:
			code = statusDoubt
		}
	}
	for _, s := range st.Sensors {
		if !s.Healthy && s.Error != "" { // not where it has yet to answer
			code = statusDoubt
		}
	}
	switch {
	case st.Lost && st.Stage != press.Release:
		return statusTrouble
	case st.Verdict == press.InDoubt:
		return statusDoubt
	}
	return code
}

func (a *app) printStatus(all []press.Status, d units.Display) error {
	var b strings.Builder
	for i, st := range all {
		if i > 0 {
			b.WriteByte('\n')
		}
		if len(all) > 1 {
			fmt.Fprintf(&b, "%s: ", st.Press)
		}
		fmt.Fprintln(&b, st.Sentence)
		writeNumbers(&b, st, d)
	}
	_, err := fmt.Fprint(a.out, b.String())
	return err
}

func pumpState(p press.PumpStatus) string {
	switch {
	case p.Locked != "":
		return "locked: " + p.Locked
	case p.On:
		return "on"
	}
	return fmt.Sprintf("off, %d start(s) in the last hour", p.Starts)
}

// limits writes until when the glue may wait.
func limits(st press.Status, clock func(time.Time) string) string {
	var parts []string
	for _, l := range []struct {
		what string
		at   time.Time
	}{{"faces together by ", st.OpenLimit}, {"under vacuum by ", st.ClosedLimit}} {
		if !l.at.IsZero() {
			parts = append(parts, l.what+clock(l.at))
		}
	}
	return strings.Join(parts, ", ")
}

// writeNumbers writes the numbers behind the sentence, those that are known.
func writeNumbers(b *strings.Builder, st press.Status, d units.Display) {
	row := func(name, value string) { fmt.Fprintf(b, "  %-11s %s\n", name, value) }
	clock := func(t time.Time) string { return d.Clock(t, st.Time) }
	run := "none"
	if st.Run != "" {
		run = strings.TrimSpace(st.Run + " " + st.Work)
	}
	row("run", run)
	row("stage", string(st.Stage))
	if !st.OpenLimit.IsZero() || !st.ClosedLimit.IsZero() {
		row("assembly", limits(st, clock))
	}
	row("vacuum", fmt.Sprintf("%s, floor %s", d.Pressure(float64(st.VacuumPa)), d.Pressure(float64(st.FloorPa))))
	row("leak rate", rate(d, st.LeakRate))
	writeBag(row, st, d)
	row("glue line", fmt.Sprintf("%s, air %s", d.Temperature(float64(st.GluelineC)), d.Temperature(float64(st.AirC))))
	if st.HumidityPct > 0 {
		row("humidity", wrapAfter(damp(st), 64, "              "))
	}
	if st.Glue != "" && st.Run != "" {
		row("adhesive", fmt.Sprintf("%s, %s of its press time under clamp", st.Glue, share(st.ClampedProgress)))
	}
	if st.MarginS.Expected.Known() {
		row("margin", d.SpanSeconds(float64(st.MarginS.Expected)))
	}
	if w := st.Weather; w != nil {
		row("weather", weatherWords(*w, d)+", as told, good until "+clock(w.Until))
	}
	if p := st.Pump; p != nil {
		row("pump", pumpState(*p))
	}
	for _, s := range st.Sensors {
		switch {
		case s.Healthy:
		case s.Error == "":
			row("sensor", s.Name+" has not answered yet")
		default:
			row("sensor", fmt.Sprintf("%s does not answer: %s", s.Name, s.Error))
		}
	}
	for _, al := range st.Alerts {
		row("alert", fmt.Sprintf("%s since %s: %s", al.Name, clock(al.Since), al.Text))
	}
	for _, todo := range st.Todo {
		row("open", wrapAfter(todo.Text, 64, "              "))
	}
	row("sample", fmt.Sprintf("%s, %d since the start", clock(st.Time), st.Samples))
}

// damp says how damp the air is, and what wood makes of it.
func damp(st press.Status) string {
	text := units.Humidity(float64(st.HumidityPct))
	if words := st.WoodWords(); words != "" {
		text += ": wood left in it comes to " + words
	}
	return text
}

// writeBag writes what is known of the bag besides.
func writeBag(row func(name, value string), st press.Status, d units.Display) {
	if f := st.LeakFlow; st.FreeVolumeFrom != "" && f.Expected.Known() {
		text := fmt.Sprintf("%.2g Pa·m³/s (%.2g to %.2g)", float64(f.Expected), float64(f.Low), float64(f.High))
		if h := st.LeakHole; h.Expected.Known() {
			text += fmt.Sprintf(", a hole of %.0f µm (%.0f to %.0f)", 1e6*float64(h.Expected), 1e6*float64(h.Low), 1e6*float64(h.High))
		}
		row("leak flow", text)
	}
	if v := st.FreeVolume; st.FreeVolumeFrom == press.VolumeStrokes {
		row("volume", fmt.Sprintf("%.2g l (%.2g to %.2g), from strokes", 1e3*float64(v.Expected), 1e3*float64(v.Low), 1e3*float64(v.High)))
	}
	if c := st.PumpCycle; c != nil {
		row("pump cycle", fmt.Sprintf("leak %s over %d rests; the pump runs for %.1f %% of the time", rate(d, c.Rate), c.Rests, 100*float64(c.Duty)))
	}
}
