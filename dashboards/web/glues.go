package web

import (
	"fmt"
	"net/http"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
)

// Datasheet is an adhesive that can be chosen.
type Datasheet struct {
	Name  string // what a start order takes
	Own   bool   // a file of the builder's, not a built-in family
	Sheet *cure.Sheet
}

// Glue is an adhesive in the list of /api/v1/glues.
type Glue struct {
	Name     string   `json:"name"` // what a start order takes
	Own      bool     `json:"own"`  // a file of the builder's, not a built-in family
	Title    string   `json:"title"`
	Family   string   `json:"family"`
	Source   string   `json:"source"`
	MinUseC  float64  `json:"min_use_c"`
	Cautions []string `json:"cautions"`
}

// GlueDetail is the answer of /api/v1/glues/{glue}.
type GlueDetail struct {
	Glue    Glue         `json:"glue"`
	MaxUseC float64      `json:"max_use_c"`
	Curve   []CurvePoint `json:"curve"` // press time from the minimum to the maximum use temperature
	Rows    []GlueRow    `json:"rows"`  // the same at a few temperatures, for people
	Explain []string     `json:"explain"`
	Assumed []string     `json:"assumed"` // what the sheet leaves out
	Trade   []string     `json:"trade_cautions"`
}

// CurvePoint is the press time at one glue-line temperature; null: not usable.
type CurvePoint struct {
	C        float64    `json:"at_c"`
	Flat     press.Band `json:"flat_s"`
	Strained press.Band `json:"strained_s"`
	InTable  bool       `json:"in_table"` // between the sheet's own rows, not carried on from them
}

// GlueRow is what a datasheet says of one glue-line temperature. A field is
// empty when it says nothing of that.
type GlueRow struct {
	C        float64 `json:"at_c"`
	At       string  `json:"at"`
	Flat     string  `json:"flat"`
	Strained string  `json:"strained"`
	Open     string  `json:"open"`
	Closed   string  `json:"closed"`
	FullCure string  `json:"full_cure"`
}

// curveSteps is how many temperatures the curve of a datasheet has.
const curveSteps = 49

func (s *server) datasheets() []Datasheet {
	if s.Glues == nil {
		return nil
	}
	return s.Glues()
}

func glueOf(d Datasheet) Glue {
	return Glue{
		Name: d.Name, Own: d.Own, Title: d.Sheet.Title, Family: d.Sheet.Family, Source: d.Sheet.Source,
		MinUseC: d.Sheet.MinUseC, Cautions: list(d.Sheet.Cautions),
	}
}

// list is never null in JSON.
func list(words []string) []string { return append([]string{}, words...) }

func (s *server) glues(w http.ResponseWriter, r *http.Request) {
	all := []Glue{}
	for _, d := range s.datasheets() {
		all = append(all, glueOf(d))
	}
	s.send(w, r, all)
}

func (s *server) glue(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("glue")
	for _, d := range s.datasheets() {
		if d.Name == name {
			s.send(w, r, s.detail(d))
			return
		}
	}
	s.fail(w, r, http.StatusNotFound, fmt.Sprintf("no adhesive is named %q; /api/v1/glues lists them", name))
}

func (s *server) detail(d Datasheet) GlueDetail {
	curve := d.Sheet.Curve(curveSteps)
	g := GlueDetail{
		Glue: glueOf(d), MaxUseC: curve[len(curve)-1].C,
		Explain: list(d.Sheet.Explain()), Assumed: list(d.Sheet.Assumed), Trade: cure.Cautions(),
	}
	for _, p := range curve {
		g.Curve = append(g.Curve, CurvePoint{p.C, bandOf(p.Flat), bandOf(p.Strained), p.InTable})
	}
	for _, c := range rowsAt(g.Glue.MinUseC, g.MaxUseC) {
		g.Rows = append(g.Rows, s.glueRow(d.Sheet, c))
	}
	return g
}

func bandOf(b cure.Band) press.Band {
	return press.Band{Low: press.Num(b.Low), Expected: press.Num(b.Expected), High: press.Num(b.High)}
}

// rowsAt are round temperatures in the range of use, with its lower end.
func rowsAt(low, high float64) []float64 {
	all := []float64{low}
	for _, c := range []float64{5, 10, 12, 15, 18, 20, 25, 30, 35} {
		if c > low && c <= high {
			all = append(all, c)
		}
	}
	return all
}

func (s *server) glueRow(sheet *cure.Sheet, c float64) GlueRow {
	row := GlueRow{C: c, At: s.Display.Temperature(c)}
	row.Flat = s.spanOf(sheet.PressTimeAt(c, cure.Options{}))
	row.Strained = s.spanOf(sheet.PressTimeAt(c, cure.Options{Strained: true}))
	if t, ok := sheet.Assembly(cure.Open, c); ok {
		row.Open = s.Display.Span(t)
	}
	if t, ok := sheet.Assembly(cure.Closed, c); ok {
		row.Closed = s.Display.Span(t)
	}
	if b, ok := sheet.FullCureAt(c); ok {
		row.FullCure = s.spanOf(b)
	}
	return row
}

// spanOf writes a band of seconds.
func (s *server) spanOf(b cure.Band) string {
	if !b.Finite() {
		return "not usable"
	}
	low, high := s.Display.Span(seconds(b.Low)), s.Display.Span(seconds(b.High))
	if low == high {
		return low
	}
	return low + " to " + high
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
