package alert

import (
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// picture is what an alert is judged and told by: the event that raised it, all
// that is known of the press, and how its reader reads.
type picture struct {
	ev         press.Event
	st         press.Status
	quantities []string // that a sensor's alert is about
	show       units.Display
}

func (p picture) holds(k press.Kind) bool {
	return slices.ContainsFunc(p.st.Conditions, func(c press.Condition) bool { return c.Kind == k })
}

func (p picture) about(quantity string) bool { return slices.Contains(p.quantities, quantity) }

func (p picture) clock(t time.Time) string       { return p.show.Clock(t, p.st.Time) }
func (p picture) pressure(pa press.Num) string   { return p.show.Pressure(pa.Or(nan)) }
func (p picture) rate(paPerH press.Num) string   { return p.show.Rate(paPerH.Or(nan)) }
func (p picture) temperature(c press.Num) string { return p.show.Temperature(c.Or(nan)) }
func (p picture) floor() string                  { return p.pressure(p.st.FloorPa) }

// earned is the share of the press time under clamp, as "41 %".
func (p picture) earned() string { return percent(p.st.ClampedProgress.Expected) }

// parts names the sensors that the alert is about.
func (p picture) parts() string {
	names := make([]string, 0, len(p.quantities))
	for _, q := range p.quantities {
		names = append(names, part(q))
	}
	if len(names) == 0 {
		return "a sensor"
	}
	if last := len(names) - 1; last > 0 {
		return strings.Join(names[:last], ", ") + " and " + names[last]
	}
	return names[0]
}

func part(quantity string) string {
	switch quantity {
	case "bag":
		return "the bag's pressure sensor"
	case "ambient":
		return "the barometer"
	case "glueline":
		return "the glue-line thermometer"
	case "air":
		return "the air thermometer"
	}
	return quantity
}

// eventOf is the event that began a condition, as far as the status tells.
func eventOf(held press.Condition, st press.Status) press.Event {
	return press.Event{
		Time: held.Since, Site: st.Site, Press: st.Press, Run: st.Run, Kind: held.Kind, Quantity: held.Quantity,
		VacuumPa: st.VacuumPa, GluelineC: st.GluelineC, LimitC: st.MinUseC, Limit: st.ClosedLimit,
		Onset: st.LeakOnset, RatePaPerH: st.LeakRate.Expected, RateLow: st.LeakRate.Low, RateHigh: st.LeakRate.High,
		FloorAt: st.FloorAt.Expected, PressTimeAt: st.PressTimeAt.Expected, MarginS: st.MarginS.Expected,
		Early: st.PressTimeAt.Early, Late: st.PressTimeAt.Late, Reason: st.LineReason,
	}
}
