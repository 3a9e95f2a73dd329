package layup

// Layup is a stack before the first glue, in SI units.
type Layup struct {
	Work     string
	Glue     string // a datasheet's name or path; empty: the configured default
	Length   float64
	Width    float64 // m; Length and Width are zero when only the area is given
	Area     float64 // m²
	Moisture float64 // of the veneer, % of its oven-dry mass
	Plies    []Ply   // mould side first
	Mould    Mould
	Blanket  float64 // m of insulation on top of the bag; zero: bare
	Bends    []Bend
	Strained bool // unloaded soon after; true for bent work unless the file says no

	Spread float64 // kg/m² of a glue line; zero: the middle of the sheet's range
	Loss   float64 // share of the mixed glue that stays in pot and roller

	Vacuum  float64 // what the pump is expected to hold, Pa; zero: what can be had
	Floor   float64 // Pa; zero: not given
	Ambient float64 // station pressure, Pa, from the barometer or the height

	StartC    float64   // of veneer, glue and mould, °C
	ExpectedC []float64 // glue-line temperatures to plan for, °C

	LineTime     float64 // s to spread one glue line; zero: not given
	PulldownTime float64 // s from the last ply to pressure
}

// Ply is one layer of veneer.
type Ply struct {
	Thickness float64 // m
	Wood      Wood
	Across    bool // grain across the length of the work
}

// Bend is a curve that the work is to keep.
type Bend struct {
	Across bool    // a curve across the length; false: along it
	Radius float64 // wanted after release, m
	Span   float64 // width of the curved part, measured straight, m
}

// Lines is the number of glue lines.
func (l *Layup) Lines() int { return len(l.Plies) - 1 }

// Thickness is that of the stack, m.
func (l *Layup) Thickness() float64 {
	sum := 0.0
	for _, p := range l.Plies {
		sum += p.Thickness
	}
	return sum
}
