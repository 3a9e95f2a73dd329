package main

import (
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
)

// pressDashboard answers for one press what the page answers: will it hold?
func pressDashboard() (board, error) {
	d := begin("nightclamp: one press", "nightclamp-press",
		"Will this bag hold until the glue has cured? One press, as nightclamp sees it.", false)
	answer(d)
	course(d)
	health(d)
	return d.Build()
}

func answer(d *builder) {
	d.WithRow(dashboard.NewRowBuilder("The answer")).
		WithPanel(number("Verdict", "Will the bag hold until the glue has cured?", "", 6).
			WithTarget(now("{{press}}", coded("nightclamp_verdict", "verdict", verdicts()))).
			Mappings(mappings(verdicts()))).
		WithPanel(number("Stage", "Where the run is.", "", 3).
			WithTarget(now("{{press}}", coded("nightclamp_stage", "stage", stages()))).
			Mappings(mappings(stages()))).
		WithPanel(number("Margin", "Floor crossing minus press time reached. Negative: the bag fails first.", "s", 4).
			WithTarget(now("{{press}}", "«nightclamp_margin_seconds»")).
			Thresholds(steps([]string{bad, doubt, good}, 0, 3600)).NoValue("not known")).
		WithPanel(number("Press time left", "Until the press time is expected to be earned.", "s", 4).
			WithTarget(now("{{press}}", "«nightclamp_press_time_remaining_seconds»")).NoValue("not in sight")).
		WithPanel(number("Floor in", "Until the vacuum is expected to fall to the floor.", "s", 4).
			WithTarget(now("{{press}}", "«nightclamp_floor_crossing_remaining_seconds»")).NoValue("not in sight")).
		WithPanel(number("Alerts", "Raised and not cleared.", "none", 3).
			WithTarget(now("{{severity}}", "sum by (severity) («nightclamp_active_alerts»)")).
			Thresholds(steps([]string{good, bad}, 1)))
}

func course(d *builder) {
	d.WithRow(dashboard.NewRowBuilder("The course of the run")).
		WithPanel(lines("Vacuum against the floor", "What clamps the work, and what the builder will not go below.", "pressurekpa").
			WithTarget(query("A", "vacuum {{press}}", "«nightclamp_vacuum_pascals» / 1000")).
			WithTarget(query("B", "floor {{press}}", "«nightclamp_vacuum_floor_pascals» / 1000")).
			OverrideByRegexp("/^floor/", dashed(bad)).OverrideByRegexp("/^vacuum/", fixed(good))).
		WithPanel(lines("Cured under clamp", "Share of the press time earned while the vacuum was at or above the floor.", "percentunit").
			WithTarget(query("A", "high", "«nightclamp_clamped_progress_high_ratio»")).
			WithTarget(query("B", "expected", "«nightclamp_clamped_progress_ratio»")).
			WithTarget(query("C", "low", "«nightclamp_clamped_progress_low_ratio»")).
			WithTarget(query("D", "clamped or not", "«nightclamp_cure_progress_ratio»")).
			Min(0).Max(1).
			OverrideByName("high", bound(violet, "low")).OverrideByName("low", bound(violet, "")).
			OverrideByName("expected", fixed(violet)).OverrideByName("clamped or not", dashed(faint))).
		WithPanel(lines("Margin", "How long the vacuum outlasts the press time. Below 0 the bag fails first.", "s").
			WithTarget(query("A", "high", "«nightclamp_margin_high_seconds»")).
			WithTarget(query("B", "expected", "«nightclamp_margin_seconds»")).
			WithTarget(query("C", "low", "«nightclamp_margin_low_seconds»")).
			Thresholds(steps([]string{bad, good}, 0)).
			OverrideByName("high", bound(good, "low")).OverrideByName("low", bound(good, "")).OverrideByName("expected", fixed(good))).
		WithPanel(lines("Leak rate", "Rise of bag pressure that does not die away; settling, temperature and barometer taken out.", "suffix: kPa/h").
			WithTarget(query("A", "high", "«nightclamp_leak_rate_high_pascals_per_second» * 3.6")).
			WithTarget(query("B", "expected", "«nightclamp_leak_rate_pascals_per_second» * 3.6")).
			WithTarget(query("C", "low", "«nightclamp_leak_rate_low_pascals_per_second» * 3.6")).
			OverrideByName("high", bound(doubt, "low")).OverrideByName("low", bound(doubt, "")).OverrideByName("expected", fixed(doubt))).
		WithPanel(lines("Temperatures", "The glue line is what cures; the room runs ahead of it.", "celsius").
			WithTarget(query("A", "glue line", "«nightclamp_glueline_temperature_celsius»")).
			WithTarget(query("B", "room", "«nightclamp_air_temperature_celsius»")).
			WithTarget(query("C", "film forms above", "«nightclamp_minimum_use_temperature_celsius»")).
			OverrideByName("glue line", fixed(violet)).OverrideByName("room", fixed(faint)).OverrideByName("film forms above", dashed(bad))).
		WithPanel(lines("Pressures", "In the bag and of the room, absolute.", "pressurekpa").
			WithTarget(query("A", "bag", "«nightclamp_bag_pressure_pascals» / 1000")).
			WithTarget(query("B", "room", "«nightclamp_ambient_pressure_pascals» / 1000")).
			OverrideByName("bag", fixed(good)).OverrideByName("room", fixed(faint))).
		WithPanel(bands("Stage and verdict", "", nil, full, 5).
			WithTarget(query("A", "stage", coded("nightclamp_stage", "stage", stages()))).
			WithTarget(query("B", "verdict", coded("nightclamp_verdict", "verdict", verdicts()))).
			OverrideByName("stage", []dashboard.DynamicConfigValue{{Id: "mappings", Value: mappings(stages())}}).
			OverrideByName("verdict", []dashboard.DynamicConfigValue{{Id: "mappings", Value: mappings(verdicts())}})).
		WithPanel(bands("Conditions and alerts", "What holds, and what people were told of.", nil, full, 9).
			WithTarget(query("A", "{{condition}}", "«nightclamp_condition»")).
			WithTarget(query("B", "alert: {{alert}}", "«nightclamp_alert_active»")).
			Mappings(onOff("no", "yes", "transparent", doubt)))
}

func health(d *builder) {
	d.WithRow(dashboard.NewRowBuilder("Sensors")).
		WithPanel(bands("Answers", "", nil, half, tall).
			WithTarget(query("A", "{{sensor}}", "«nightclamp_sensor_up»")).
			Mappings(onOff("silent", "answers", bad, good))).
		WithPanel(lines("Failed readings", "", "suffix: /s").
			WithTarget(query("A", "{{sensor}}", "rate(«nightclamp_sensor_errors_total»[$__rate_interval])"))).
		WithPanel(lines("Age of the newest sample", "", "s").
			WithTarget(query("A", "{{press}}", "«nightclamp_sample_age_seconds»")).
			WithTarget(query("B", "{{sensor}}", "«nightclamp_sensor_reading_age_seconds»"))).
		WithPanel(lines("Samples taken", "", "suffix: /s").
			WithTarget(query("A", "{{press}}", "rate(«nightclamp_samples_total»[$__rate_interval])")))
}
