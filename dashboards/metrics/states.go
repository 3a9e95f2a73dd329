package metrics

import (
	"slices"

	"github.com/nightclamp/nightclamp/press"
)

// stages, verdicts and severities are the bounded values of the
// state sets: each is always there, 1 or 0, so that a rule never meets a hole.
func stages() []press.Stage {
	return []press.Stage{press.Idle, press.Layup, press.Pulldown, press.Hold, press.Release}
}

func verdicts() []press.Verdict {
	return []press.Verdict{
		press.Unsure, press.WillHold, press.InDoubt, press.WillNotHold, press.Done,
		press.Pressed, press.PartClamped, press.OpenedEarly, press.FilmLost,
	}
}

func severities() []press.Severity { return []press.Severity{press.Note, press.Warn, press.Wake} }

func states() []family {
	return []family{
		gauge("nightclamp_press_info",
			"Always 1 for each press; the label glue names the datasheet, empty when none is chosen.",
			func(in reading) { in.emit(1, in.Glue) }, "glue"),
		gauge("nightclamp_stage",
			"1 for the stage that the press is in, 0 for the others.",
			func(in reading) {
				for _, s := range stages() {
					in.emit(yes(s == in.Stage), string(s))
				}
			}, "stage"),
		gauge("nightclamp_verdict",
			"1 for the verdict that holds, 0 for the others.",
			func(in reading) {
				for _, v := range verdicts() {
					in.emit(yes(v == in.Verdict), string(v))
				}
			}, "verdict"),
		gauge("nightclamp_condition",
			"1 for each condition that holds now, 0 for the others; named like the event that began it.",
			func(in reading) {
				for _, k := range press.ConditionKinds() {
					in.emit(yes(holds(in.Conditions, k)), string(k))
				}
			}, "condition"),
		gauge("nightclamp_run_start_timestamp_seconds",
			"When the run began: first glue, or the pull-down; left out when idle.",
			func(in reading) {
				if !in.Started.IsZero() {
					in.emit(press.Num(float64(in.Started.UnixMilli()) / 1000))
				}
			}),
		gauge("nightclamp_active_alerts",
			"Alerts that are raised and not cleared, by severity.",
			countAlerts, "severity"),
		gauge("nightclamp_alert_active",
			"1 for each alert that is raised and not cleared; left out otherwise.",
			func(in reading) {
				for _, a := range in.Alerts {
					in.emit(1, a.Name)
				}
			}, "alert"),
	}
}

func holds(now []press.Condition, k press.Kind) bool {
	return slices.ContainsFunc(now, func(c press.Condition) bool { return c.Kind == k })
}

func countAlerts(in reading) {
	for _, s := range severities() {
		n := 0
		for _, a := range in.Alerts {
			if a.Severity == string(s) {
				n++
			}
		}
		in.emit(press.Num(n), string(s))
	}
}

func readings() []family {
	return []family{
		gauge("nightclamp_sample_age_seconds",
			"Time since the newest sample.",
			func(in reading) { in.emit(in.since(in.Time)) }),
		counter("nightclamp_samples_total",
			"Samples taken in.",
			func(in reading) { in.emit(press.Num(in.Samples)) }),
		counter("nightclamp_top_ups_total",
			"Times that the vacuum was restored during the hold of the run; begins anew with a run.",
			func(in reading) { in.emit(press.Num(in.TopUps)) }),
		gauge("nightclamp_sensor_up",
			"1 while the sensor answers, 0 while it does not.",
			func(in reading) {
				for _, s := range in.Sensors {
					in.emit(yes(s.Healthy), s.Name)
				}
			}, "sensor"),
		counter("nightclamp_sensor_errors_total",
			"Readings of the sensor that failed.",
			func(in reading) {
				for _, s := range in.Sensors {
					in.emit(press.Num(s.Errors), s.Name)
				}
			}, "sensor"),
		gauge("nightclamp_sensor_reading_age_seconds",
			"Time since the sensor's last good reading; left out when there was none.",
			func(in reading) {
				for _, s := range in.Sensors {
					in.emit(in.since(s.LastAt), s.Name)
				}
			}, "sensor"),
	}
}
