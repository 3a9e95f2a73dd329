package main

import (
	"strings"

	"github.com/grafana/grafana-foundation-sdk/go/cog"
	"github.com/grafana/grafana-foundation-sdk/go/cog/variants"
	"github.com/grafana/grafana-foundation-sdk/go/common"
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
	"github.com/grafana/grafana-foundation-sdk/go/prometheus"
)

// The colours are those of the built-in page.
const (
	good   = "#2f8f9b"
	doubt  = "#c98a1b"
	bad    = "#c2412d"
	faint  = "#8a9296"
	violet = "#9a6fb8"
)

// The classic model of a dashboard: every Grafana in use imports it, while the
// model that follows it needs one of the newest.
type (
	//lint:ignore SA1019 the classic model, see above
	board = dashboard.Dashboard //nolint:staticcheck // the same, for golangci-lint
	//lint:ignore SA1019 the classic model, see above
	builder = dashboard.DashboardBuilder //nolint:staticcheck // the same
)

// source is the Prometheus that the dashboard's variable names.
func source() common.DataSourceRef {
	return common.DataSourceRef{Type: new("prometheus"), Uid: new("${source}")}
}

// of puts the selection of the dashboard's variables into an expression: every
// «m» that stands for a metric becomes m{site=~…, press=~…}. Further matchers
// stand behind the name: «m|stage="hold"».
func of(expr string) string {
	var b strings.Builder
	for expr != "" {
		before, rest, ok := strings.Cut(expr, "«")
		b.WriteString(before)
		if !ok {
			break
		}
		metric, after, _ := strings.Cut(rest, "»")
		name, more, _ := strings.Cut(metric, "|")
		b.WriteString(name + `{site=~"$site", press=~"$press"`)
		if more != "" {
			b.WriteString(", " + more)
		}
		b.WriteString("}")
		expr = after
	}
	return b.String()
}

// query is one line of a panel.
func query(id, legend, expr string) cog.Builder[variants.Dataquery] {
	return prometheus.NewDataqueryBuilder().
		Datasource(source()).Expr(of(expr)).LegendFormat(legend).RefId(id).Range().
		EditorMode(prometheus.QueryEditorModeCode)
}

// now is a query for the newest value alone.
func now(legend, expr string) cog.Builder[variants.Dataquery] {
	return prometheus.NewDataqueryBuilder().
		Datasource(source()).Expr(of(expr)).LegendFormat(legend).RefId("A").Instant().
		EditorMode(prometheus.QueryEditorModeCode)
}

// begin starts a dashboard as all of them do: variables, time, events as annotations.
func begin(title, uid, about string, many bool) *builder {
	//lint:ignore SA1019 the classic model, see board
	d := dashboard.NewDashboardBuilder(title) //nolint:staticcheck // the same
	d.Uid(uid).Description(about).Tags([]string{"nightclamp"}).
		Time("now-24h", "now").Refresh("15s").Timezone("browser").
		Tooltip(dashboard.DashboardCursorSyncCrosshair).
		WithVariable(dashboard.NewDatasourceVariableBuilder("source").Label("Prometheus").Type("prometheus")).
		WithVariable(choice("site", "Site", `label_values(nightclamp_stage, site)`, many)).
		WithVariable(choice("press", "Press", `label_values(nightclamp_stage{site=~"$site"}, press)`, many))
	return d.
		Annotation(mark("Conditions", bad, "«nightclamp_condition» == 1", "{{press}}: {{condition}}")).
		Annotation(mark("Top-ups", good, "changes(«nightclamp_top_ups_total»[1m]) > 0", "{{press}}: topped up")).
		Link(dashboard.NewDashboardLinkBuilder("nightclamp").Type(dashboard.DashboardLinkTypeDashboards).
			Tags([]string{"nightclamp"}).IncludeVars(true).KeepTime(true))
}

func choice(name, label, values string, many bool) *dashboard.QueryVariableBuilder {
	v := dashboard.NewQueryVariableBuilder(name).Label(label).Datasource(source()).
		Query(dashboard.StringOrMap{Map: map[string]any{"query": values, "refId": "var"}}).
		Definition(values).
		Refresh(dashboard.VariableRefreshOnTimeRangeChanged).Sort(dashboard.VariableSortAlphabeticalAsc)
	if many {
		v.Multi(true).IncludeAll(true).AllValue(".+")
	}
	return v
}

func mark(name, colour, expr, title string) *dashboard.AnnotationQueryBuilder {
	return dashboard.NewAnnotationQueryBuilder().Name(name).Datasource(source()).Enable(true).
		IconColor(colour).Expr(of(expr)).TitleFormat(title).Step("60s")
}

// steps colours a value by where it stands: below the first bound in the first
// colour, and so on.
func steps(colours []string, bounds ...float64) *dashboard.ThresholdsConfigBuilder {
	all := []dashboard.Threshold{{Color: colours[0]}}
	for i, b := range bounds {
		all = append(all, dashboard.Threshold{Value: new(b), Color: colours[i+1]})
	}
	return dashboard.NewThresholdsConfigBuilder().Mode(dashboard.ThresholdsModeAbsolute).Steps(all)
}

func fixed(colour string) []dashboard.DynamicConfigValue {
	return []dashboard.DynamicConfigValue{{Id: "color", Value: map[string]any{"mode": "fixed", "fixedColor": colour}}}
}

// bound draws a line as the edge of a band: thin, and filled down to another.
func bound(colour, downTo string) []dashboard.DynamicConfigValue {
	all := append(fixed(colour), dashboard.DynamicConfigValue{Id: "custom.lineWidth", Value: 0})
	if downTo != "" {
		all = append(all,
			dashboard.DynamicConfigValue{Id: "custom.fillBelowTo", Value: downTo},
			dashboard.DynamicConfigValue{Id: "custom.fillOpacity", Value: 18})
	}
	return all
}

func dashed(colour string) []dashboard.DynamicConfigValue {
	return append(fixed(colour), dashboard.DynamicConfigValue{
		Id: "custom.lineStyle", Value: map[string]any{"fill": "dash", "dash": []int{10, 8}},
	})
}
