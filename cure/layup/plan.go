package layup

import (
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// Plan is what a lay-up will need and do, in SI units.
type Plan struct {
	Work       string  `json:"work,omitempty"`
	Glue       string  `json:"glue"`
	Title      string  `json:"title"`
	Plies      int     `json:"plies"`
	Lines      int     `json:"glue_lines"`
	ThicknessM float64 `json:"thickness_m"`
	AreaM2     float64 `json:"area_m2"`

	Mix      Mix        `json:"mix"`
	Moisture Moisture   `json:"moisture"`
	Clamp    Clamp      `json:"clamp"`
	Mould    MouldCheck `json:"mould"`
	Heat     Heat       `json:"heat"`
	At       []AtTemp   `json:"at"` // for each temperature planned for
	Bends    []BendPlan `json:"bends,omitempty"`

	Warnings []string `json:"warnings"` // what to change or watch, in order of the plan
	Cautions []string `json:"cautions"` // of the glue, then of the trade
}

// Mix is the glue to mix.
type Mix struct {
	LineKg  float64 `json:"line_kg"` // on one glue line
	WorkKg  float64 `json:"work_kg"` // on all lines
	MixKg   float64 `json:"mix_kg"`  // with what stays in pot and roller
	WaterKg float64 `json:"water_kg"`
	// GasM3 is the most gas a moisture-cured polyurethane can give off, at the
	// planned bag pressure and 20 °C: stoichiometry of 15 % free NCO.
	GasM3 float64 `json:"gas_m3,omitzero"`
}

// Moisture is what the glue's water does to the wood, % of its oven-dry mass.
type Moisture struct {
	Start       float64    `json:"start_percent"`
	After       float64    `json:"after_percent"`       // mean of the stack
	InnerAfter  float64    `json:"inner_after_percent"` // of an inner ply
	FaceAfter   float64    `json:"face_after_percent"`  // of a face ply
	Wanted      [2]float64 `json:"wanted_percent,omitzero"`
	Equilibrium float64    `json:"equilibrium_humidity"` // share; of the stack afterwards, at 20 °C
}

// Clamp is the pressure there is.
type Clamp struct {
	AmbientPa float64 `json:"ambient_pa"`
	VacuumPa  float64 `json:"vacuum_pa"` // planned
	MostPa    float64 `json:"most_pa"`   // beyond it water boils out of the glue
	ForceN    float64 `json:"force_n"`   // on the whole work
	FloorPa   float64 `json:"floor_pa,omitzero"`
	// HandbookPa is what the Wood Handbook asks for in a press, by density, from
	// memory. A bag gives a tenth of it: it closes gaps between thin plies, and
	// does not flatten boards.
	HandbookPa float64 `json:"handbook_pa"`
}

// MouldCheck is what the mould bears.
type MouldCheck struct {
	Material   string  `json:"material"`
	LimitPa    float64 `json:"limit_pa,omitzero"` // for days; zero: no limit
	StrengthPa float64 `json:"strength_pa,omitzero"`
	Source     string  `json:"source"`
	Verdict    string  `json:"verdict"` // bears, creeps or crushes
}

// What a mould does under the planned vacuum.
const (
	Bears   = "bears"
	Creeps  = "creeps"  // above the long-term limit: it goes on yielding through the night
	Crushes = "crushes" // above the short-term strength
)

// Heat is how the coldest glue line follows the air.
type Heat struct {
	LagS  float64 `json:"lag_s"`  // to 63 % of a step of the air
	SoakS float64 `json:"soak_s"` // to 90 %
}

// AtTemp is what goes at one glue-line temperature.
type AtTemp struct {
	C          float64   `json:"at_c"`
	TooCold    bool      `json:"too_cold"`
	StopsShort bool      `json:"stops_short"`
	PressS     cure.Band `json:"press_time_s,omitzero"` // zero when too cold
	OpenS      float64   `json:"open_limit_s,omitzero"`
	ClosedS    float64   `json:"closed_limit_s,omitzero"`
	// MostPerLineS is the longest that spreading one line may take so that the
	// first is under pressure in time: mixed use is proportional.
	MostPerLineS float64 `json:"most_per_line_s,omitzero"`
	// Used is the share of the assembly time that the planned work uses.
	Used float64 `json:"assembly_used,omitzero"`
}

// Make works out the plan of a lay-up with a glue.
func Make(l *Layup, s *cure.Sheet) *Plan {
	p := &Plan{
		Work: l.Work, Glue: s.Name, Title: s.Title,
		Plies: len(l.Plies), Lines: l.Lines(), ThicknessM: l.Thickness(), AreaM2: l.Area,
		Cautions: append(append([]string{}, s.Cautions...), cure.Cautions()...),
	}
	p.Clamp = clampOf(l)
	p.Mix = mixOf(l, s, p.Clamp)
	p.Moisture = moistureOf(l, s, p.Mix)
	p.Mould = mouldOf(l, p.Clamp)
	p.Heat = heatOf(l)
	for _, c := range l.ExpectedC {
		p.At = append(p.At, atTemp(l, s, c))
	}
	p.Bends = l.BendPlans()
	p.Warnings = warnings(l, s, p)
	return p
}

func spreadOf(l *Layup, s *cure.Sheet) float64 {
	if l.Spread > 0 {
		return l.Spread
	}
	return (s.Spread[0] + s.Spread[1]) / 2 * 1e-3
}

func mixOf(l *Layup, s *cure.Sheet, c Clamp) Mix {
	line := spreadOf(l, s) * l.Area
	m := Mix{LineKg: line, WorkKg: line * float64(l.Lines())}
	m.MixKg = m.WorkKg / (1 - l.Loss)
	m.WaterKg = m.WorkKg * s.WaterFraction
	if s.Gas {
		// 15 % NCO of 42.017 g/mol, two to a CO2: 1.785 mol/kg; R T at 20 °C.
		m.GasM3 = m.WorkKg * 1.785 * 8.314462618 * 293.15 / math.Max(c.AmbientPa-c.VacuumPa, 1000)
	}
	return m
}

func moistureOf(l *Layup, s *cure.Sheet, _ Mix) Moisture {
	dry := make([]float64, len(l.Plies))
	for i, ply := range l.Plies {
		dry[i] = 1000 * ply.Wood.Gravity * ply.Thickness // G12 is oven-dry mass over the volume as used
	}
	w := wet(spreadOf(l, s), s.WaterFraction, dry)
	m := Moisture{Start: l.Moisture, After: l.Moisture + w.mean, FaceAfter: l.Moisture + w.face, Wanted: s.Moisture}
	m.InnerAfter = m.FaceAfter
	if !math.IsNaN(w.inner) {
		m.InnerAfter = l.Moisture + w.inner
	}
	m.Equilibrium = Humidity(m.After, 20)
	return m
}

// usualVacuum is the share of the ambient pressure that is planned with when
// nobody says: a good small pump on a bag that is tight.
const usualVacuum = 0.8

func clampOf(l *Layup) Clamp {
	c := Clamp{AmbientPa: l.Ambient, FloorPa: l.Floor, VacuumPa: l.Vacuum}
	c.MostPa = l.Ambient - vapour(l.StartC)
	if c.VacuumPa == 0 {
		c.VacuumPa = usualVacuum * l.Ambient
	}
	c.ForceN = c.VacuumPa * l.Area
	densest := 0.0
	for _, p := range l.Plies {
		densest = math.Max(densest, p.Wood.Gravity)
	}
	// 0.7 MPa for light woods (G about 0.35) to 1.7 MPa for the densest (0.65).
	c.HandbookPa = 0.7e6 + 1e6*math.Max(0, math.Min(1, (densest-0.35)/0.30))
	return c
}

func mouldOf(l *Layup, c Clamp) MouldCheck {
	limit, source := l.Mould.creepLimit()
	m := MouldCheck{Material: l.Mould.Material, StrengthPa: l.Mould.Strength, Source: source, Verdict: Bears}
	if math.IsInf(limit, 1) {
		return m
	}
	m.LimitPa = limit
	if c.VacuumPa > limit {
		m.Verdict = Creeps
	}
	if l.Mould.Strength > 0 && c.VacuumPa > l.Mould.Strength {
		m.Verdict = Crushes
	}
	return m
}

func atTemp(l *Layup, s *cure.Sheet, c float64) AtTemp {
	a := AtTemp{C: c, StopsShort: s.StopsShort(c)}
	press := s.PressTimeAt(c, cure.Options{Strained: l.Strained})
	if a.TooCold = !press.Finite(); !a.TooCold {
		a.PressS = press
	}
	open, hasOpen := s.Assembly(cure.Open, c)
	closed, hasClosed := s.Assembly(cure.Closed, c)
	a.OpenS, a.ClosedS = open.Seconds(), closed.Seconds()
	if !hasOpen || !hasClosed || open <= 0 || closed <= 0 {
		return a
	}
	// The first line is open while it is spread, then closed while the others are.
	others := float64(l.Lines() - 1)
	perSecond := 1/a.OpenS + others/a.ClosedS
	a.MostPerLineS = math.Max(0, (1-l.PulldownTime/a.ClosedS)/perSecond)
	if l.LineTime > 0 {
		a.Used = l.LineTime*perSecond + l.PulldownTime/a.ClosedS
	}
	return a
}
