package main

import (
	"github.com/grafana/grafana-foundation-sdk/go/common"
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
	"github.com/grafana/grafana-foundation-sdk/go/stat"
	"github.com/grafana/grafana-foundation-sdk/go/statetimeline"
	"github.com/grafana/grafana-foundation-sdk/go/timeseries"
)

// Grafana's grid is 24 wide.
const (
	full    = 24
	half    = 12
	tall    = 9
	shallow = 4
)

// lines is a panel of lines over time, half as wide as the dashboard.
func lines(title, about, unit string) *timeseries.PanelBuilder {
	return timeseries.NewPanelBuilder().
		Title(title).Description(about).Datasource(source()).Unit(unit).Span(half).Height(tall).
		LineWidth(2).FillOpacity(0).ShowPoints(common.VisibilityModeNever).
		SpanNulls(common.BoolOrFloat64{Bool: new(false)}).
		Legend(common.NewVizLegendOptionsBuilder().DisplayMode(common.LegendDisplayModeList).
			Placement(common.LegendPlacementBottom).ShowLegend(true)).
		Tooltip(common.NewVizTooltipOptionsBuilder().Mode(common.TooltipDisplayModeMulti))
}

// number is the newest value, large.
func number(title, about, unit string, width uint32) *stat.PanelBuilder {
	return stat.NewPanelBuilder().
		Title(title).Description(about).Datasource(source()).Unit(unit).Span(width).Height(shallow).
		GraphMode(common.BigValueGraphModeNone).ColorMode(common.BigValueColorModeValue).
		ReduceOptions(common.NewReduceDataOptionsBuilder().Calcs([]string{"lastNotNull"}))
}

// bands is a panel of states over time.
func bands(title, about string, words []word, width, height uint32) *statetimeline.PanelBuilder {
	p := statetimeline.NewPanelBuilder().
		Title(title).Description(about).Datasource(source()).Span(width).Height(height).
		MergeValues(true).FillOpacity(75).
		Legend(common.NewVizLegendOptionsBuilder().ShowLegend(false).
			DisplayMode(common.LegendDisplayModeHidden).Placement(common.LegendPlacementBottom))
	if words != nil {
		p.Mappings(mappings(words)).
			ColorScheme(dashboard.NewFieldColorBuilder().Mode(dashboard.FieldColorModeIdThresholds))
	}
	return p
}

// onOff maps 0 and 1 to words.
func onOff(off, on string, offColour, onColour string) []dashboard.ValueMapping {
	return []dashboard.ValueMapping{{ValueMap: &dashboard.ValueMap{
		Type: dashboard.MappingTypeValueToText,
		Options: map[string]dashboard.ValueMappingResult{
			"0": {Text: new(off), Color: new(offColour), Index: new(int32(0))},
			"1": {Text: new(on), Color: new(onColour), Index: new(int32(1))},
		},
	}}}
}
