package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
)

// summarise prints what there is to say at the end of the series.
func (r *replayer) summarise(run *press.Run) error {
	st := run.Status()
	if r.format == nil {
		r.choose(time.Time{}, r.series.TimeKind())
	}
	if r.json {
		_, err := r.out.Write(append(appendSummary(nil, st, r.format), '\n'))
		return err
	}
	return r.printSummary(st)
}

// appendSummary appends the summary object of the replay contract.
func appendSummary(b []byte, st press.Status, format press.TimeFormat) []byte {
	word := func(name, value string) {
		quoted, err := json.Marshal(value)
		if err != nil { // a string always marshals
			quoted = []byte(`""`)
		}
		b = fmt.Appendf(b, `,%q:%s`, name, quoted)
	}
	number := func(name string, n press.Num) {
		text, _ := n.MarshalJSON() //nolint:errcheck // it never fails
		b = fmt.Appendf(b, `,%q:%s`, name, text)
	}
	moment := func(name string, t time.Time) {
		b = fmt.Appendf(b, `%q:`, name)
		b = format(b, t)
	}
	b = fmt.Appendf(b, `{"schema":%d,"kind":"summary"`, press.Schema)
	word("stage", string(st.Stage))
	b = fmt.Appendf(b, `,"samples":%d`, st.Samples)
	number("vacuum_pa", st.VacuumPa)
	number("leak_rate_pa_per_h", st.LeakRate.Expected)
	number("leak_rate_low", st.LeakRate.Low)
	number("leak_rate_high", st.LeakRate.High)
	number("progress", st.Progress.Expected)
	number("clamped_progress", st.ClampedProgress.Expected)
	b = append(b, `,"press_time_at":{`...)
	moment("early", st.PressTimeAt.Early)
	b = append(b, ',')
	moment("expected", st.PressTimeAt.Expected)
	b = append(b, ',')
	moment("late", st.PressTimeAt.Late)
	b = append(b, "},"...)
	moment("floor_at", st.FloorAt.Expected)
	number("margin_s", st.MarginS.Expected)
	word("verdict", string(st.Verdict))
	word("sentence", st.Sentence)
	return append(b, '}')
}

// printSummary prints the sentence and the numbers behind it.
func (r *replayer) printSummary(st press.Status) error {
	var b strings.Builder
	d := r.cfg.Display
	row := func(name, value string) { fmt.Fprintf(&b, "  %-18s %s\n", name, value) }
	fmt.Fprintln(&b, st.Sentence)
	row("stage", string(st.Stage))
	row("samples", fmt.Sprint(st.Samples))
	row("vacuum", d.Pressure(float64(st.VacuumPa)))
	row("leak rate", rate(d, st.LeakRate))
	row("press time earned", share(st.ClampedProgress)+" under clamp, "+share(st.Progress)+" in all")
	if !st.PressTimeAt.Expected.IsZero() {
		row("press time at", fmt.Sprintf("%s (%s to %s)", r.moment(st.PressTimeAt.Expected),
			r.moment(st.PressTimeAt.Early), r.moment(st.PressTimeAt.Late)))
	}
	row("floor at", r.moment(st.FloorAt.Expected))
	row("margin", d.SpanSeconds(float64(st.MarginS.Expected)))
	row("verdict", string(st.Verdict))
	_, err := r.out.WriteString(b.String())
	return err
}

// moment is a time as the file gives it.
func (r *replayer) moment(t time.Time) string {
	switch {
	case t.IsZero():
		return "never"
	case r.series.TimeKind() == csvfile.Seconds:
		return fmt.Sprintf("%.1f s", t.Sub(csvfile.Origin()).Seconds())
	}
	return t.In(r.zone()).Format("2006-01-02 15:04:05")
}

func (r *replayer) zone() *time.Location {
	if r.cfg.Display.Location == nil {
		return time.UTC
	}
	return r.cfg.Display.Location
}
