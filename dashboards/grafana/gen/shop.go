package main

import (
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
	"github.com/grafana/grafana-foundation-sdk/go/prometheus"
	"github.com/grafana/grafana-foundation-sdk/go/table"
)

// shopDashboard shows a shop of many presses, the worst first.
func shopDashboard() (board, error) {
	d := begin("nightclamp: the shop", "nightclamp-shop",
		"Every press of a shop, or of several: which one needs somebody?", true)
	d.WithRow(dashboard.NewRowBuilder("Which one needs somebody")).
		WithPanel(number("Least margin", "Of all presses.", "s", 6).
			WithTarget(now("", "min(«nightclamp_margin_seconds»)")).
			Thresholds(steps([]string{bad, doubt, good}, 0, 3600)).NoValue("no run")).
		WithPanel(number("Will not hold", "Presses whose floor comes before their press time.", "none", 6).
			WithTarget(now("", `sum(«nightclamp_verdict|verdict="will_not_hold"»)`)).
			Thresholds(steps([]string{good, bad}, 1))).
		WithPanel(number("Wake alerts", "Raised and not cleared.", "none", 6).
			WithTarget(now("", `sum(«nightclamp_active_alerts|severity="wake"»)`)).
			Thresholds(steps([]string{good, bad}, 1))).
		WithPanel(number("Silent sensors", "", "none", 6).
			WithTarget(now("", "sum(1 - «nightclamp_sensor_up»)")).
			Thresholds(steps([]string{good, bad}, 1))).
		WithPanel(presses()).
		WithRow(dashboard.NewRowBuilder("The night")).
		WithPanel(bands("Verdicts", "", verdicts(), full, tall).
			WithTarget(query("A", "{{site}} {{press}}", coded("nightclamp_verdict", "verdict", verdicts())))).
		WithPanel(bands("Stages", "", stages(), full, tall).
			WithTarget(query("A", "{{site}} {{press}}", coded("nightclamp_stage", "stage", stages())))).
		WithPanel(lines("Vacuum over the floor", "0 is the floor.", "pressurekpa").
			WithTarget(query("A", "{{site}} {{press}}", "(«nightclamp_vacuum_pascals» - «nightclamp_vacuum_floor_pascals») / 1000"))).
		WithPanel(lines("Cured under clamp", "", "percentunit").
			WithTarget(query("A", "{{site}} {{press}}", "«nightclamp_clamped_progress_ratio»")).Min(0).Max(1)).
		WithPanel(lines("Margin", "", "s").
			WithTarget(query("A", "{{site}} {{press}}", "«nightclamp_margin_seconds»"))).
		WithPanel(lines("Leak rate", "", "suffix: kPa/h").
			WithTarget(query("A", "{{site}} {{press}}", "«nightclamp_leak_rate_pascals_per_second» * 3.6"))).
		WithPanel(lines("Glue-line temperature", "", "celsius").
			WithTarget(query("A", "{{site}} {{press}}", "«nightclamp_glueline_temperature_celsius»"))).
		WithPanel(lines("Age of the newest sample", "", "s").
			WithTarget(query("A", "{{site}} {{press}}", "«nightclamp_sample_age_seconds»")))
	return d.Build()
}

// presses is a row for each press, joined by site and press.
func presses() *table.PanelBuilder {
	cell := func(id, expr string) *prometheus.DataqueryBuilder {
		return prometheus.NewDataqueryBuilder().Datasource(source()).RefId(id).Instant().
			Format(prometheus.PromQueryFormatTable).EditorMode(prometheus.QueryEditorModeCode).
			Expr(of("sum by (site, press) (" + expr + ")"))
	}
	column := func(name, unit string, more ...dashboard.DynamicConfigValue) []dashboard.DynamicConfigValue {
		return append([]dashboard.DynamicConfigValue{{Id: "displayName", Value: name}, {Id: "unit", Value: unit}}, more...)
	}
	p := table.NewPanelBuilder().Title("Presses").Datasource(source()).Span(full).Height(8).
		WithTarget(cell("A", coded("nightclamp_verdict", "verdict", verdicts()))).
		WithTarget(cell("B", coded("nightclamp_stage", "stage", stages()))).
		WithTarget(cell("C", "«nightclamp_vacuum_pascals» / 1000")).
		WithTarget(cell("D", "«nightclamp_margin_seconds»")).
		WithTarget(cell("E", "«nightclamp_clamped_progress_ratio»")).
		WithTarget(cell("F", "«nightclamp_press_time_remaining_seconds»")).
		WithTarget(cell("G", "«nightclamp_leak_rate_pascals_per_second» * 3.6")).
		WithTarget(cell("H", "«nightclamp_glueline_temperature_celsius»")).
		WithTransformation(dashboard.DataTransformerConfig{Id: "merge", Options: map[string]any{}}).
		WithTransformation(dashboard.DataTransformerConfig{Id: "organize", Options: map[string]any{ //nolint:misspell // Grafana spells it so
			"excludeByName": map[string]bool{"Time": true},
		}}).
		WithTransformation(dashboard.DataTransformerConfig{Id: "sortBy", Options: map[string]any{
			"sort": []map[string]any{{"field": "Value #D"}},
		}})
	return p.
		OverrideByName("Value #A", column("Verdict", "none", dashboard.DynamicConfigValue{Id: "mappings", Value: mappings(verdicts())},
			dashboard.DynamicConfigValue{Id: "custom.cellOptions", Value: map[string]any{"type": "color-text"}})).
		OverrideByName("Value #B", column("Stage", "none", dashboard.DynamicConfigValue{Id: "mappings", Value: mappings(stages())})).
		OverrideByName("Value #C", column("Vacuum", "pressurekpa")).
		OverrideByName("Value #D", column("Margin", "s")).
		OverrideByName("Value #E", column("Cured", "percentunit")).
		OverrideByName("Value #F", column("Press time left", "s")).
		OverrideByName("Value #G", column("Leak rate", "suffix: kPa/h")).
		OverrideByName("Value #H", column("Glue line", "celsius")).
		OverrideByName("site", []dashboard.DynamicConfigValue{{Id: "displayName", Value: "Site"}}).
		OverrideByName("press", []dashboard.DynamicConfigValue{{Id: "displayName", Value: "Press"}})
}
