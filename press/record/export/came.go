package export

import (
	"encoding/base64"
	"fmt"
	"html/template"
	"math"
	"path"
	"strings"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
)

// came is what came out of the bag, for people.
type came struct {
	Heads  []string // the times at which it was measured
	Rows   []measured
	Say    []string // springback in plain sentences
	Photos []shown
}

type measured struct {
	What  string
	Cells []string // one a time
}

// shown is a photo of the blank.
type shown struct {
	Name  string
	When  string
	File  string       // the picture itself; empty: it is not there
	Thumb template.URL // the small one
	small []byte       // the same, JPEG
}

// cameOut is nil when nobody measured anything.
func (t *told) cameOut() *came {
	if len(t.outcomes) == 0 {
		return nil
	}
	c := &came{}
	for _, o := range t.outcomes {
		c.Heads = append(c.Heads, WhenMeasured(o.After))
	}
	t.rulerRows(c)
	for _, b := range t.bends {
		c.add("Springback "+way(b.Across), t.each(func(o record.Outcome) string { return backAt(b, o.After) }))
	}
	c.add("Weight", t.each(func(o record.Outcome) string { return known(o.WeightKg, t.d.Mass) }))
	c.add("Delaminated", t.each(func(o record.Outcome) string { return yesNo(o.Delaminated) }))
	c.add("Notes", t.each(func(o record.Outcome) string { return strings.Join(strings.Fields(o.Notes), " ") }))
	for _, b := range t.bends {
		if text := SaySpringback(b, t.d.Length); text != "" {
			c.Say = append(c.Say, text)
		}
	}
	for _, o := range t.outcomes {
		for _, p := range o.Photos {
			s := shown{Name: p.Name, When: WhenMeasured(o.After), small: p.Thumb, Thumb: template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(p.Thumb))} //nolint:gosec // base64 alone
			if t.photos[p.Name] != "" {
				s.File = path.Join(photoFolder, p.Name)
			}
			c.Photos = append(c.Photos, s)
		}
	}
	return c
}

func (t *told) rulerRows(c *came) {
	for _, across := range []bool{false, true} {
		for _, q := range []struct {
			what string
			of   func(record.Curve) press.Num
		}{
			{"Depth", func(c record.Curve) press.Num { return c.DepthM }},
			{"Radius", func(c record.Curve) press.Num { return c.RadiusM }},
			{"Over a span", func(c record.Curve) press.Num { return c.SpanM }},
			{"Mould's depth", func(c record.Curve) press.Num { return c.MouldDepthM }},
			{"Mould's radius", func(c record.Curve) press.Num { return c.MouldRadiusM }},
		} {
			c.add(q.what+" "+way(across), t.each(func(o record.Outcome) string {
				curve := o.Along
				if across {
					curve = o.Across
				}
				return known(q.of(curve), t.d.Length)
			}))
		}
	}
}

// add leaves out a row of which nothing is known.
func (c *came) add(what string, cells []string) {
	if strings.Join(cells, "") == "" {
		return
	}
	for i, cell := range cells {
		if cell == "" {
			cells[i] = "–"
		}
	}
	c.Rows = append(c.Rows, measured{what, cells})
}

func (t *told) each(say func(record.Outcome) string) []string {
	cells := make([]string, len(t.outcomes))
	for i, o := range t.outcomes {
		cells[i] = say(o)
	}
	return cells
}

func known(n press.Num, write func(float64) string) string {
	if !n.Known() {
		return ""
	}
	return write(float64(n))
}

func backAt(b bent.Bend, after record.After) string {
	for _, m := range b.Times {
		if m.After == after && m.Back.Expected.Known() {
			return SayBack(m.Back)
		}
	}
	return ""
}

func yesNo(v *bool) string {
	switch {
	case v == nil:
		return ""
	case *v:
		return "yes"
	}
	return "no"
}

func way(across bool) string {
	if across {
		return "across"
	}
	return "along"
}

// WhenMeasured says when: "on release", "a day later", "a week later".
func WhenMeasured(a record.After) string {
	switch a {
	case record.AfterDay:
		return "a day later"
	case record.AfterWeek:
		return "a week later"
	case record.AtRelease:
	}
	return "on release"
}

// Share writes a share of a curve: "4.0 %".
func Share(n press.Num) string {
	if !n.Known() {
		return "–"
	}
	return inPercent(n) + " %"
}

// inPercent writes a share in percent to a tenth, and never "-0.0".
func inPercent(n press.Num) string {
	return fmt.Sprintf("%.1f", math.Round(1000*float64(n))/10+0)
}

// SayBack writes a springback with what the ruler leaves open: "6.1 % (3.0 to
// 9.2)".
func SayBack(b press.Band) string {
	if !b.Low.Known() || !b.High.Known() || b.High-b.Low < 0.0005 {
		return Share(b.Expected)
	}
	return fmt.Sprintf("%s (%s to %s)", Share(b.Expected), inPercent(b.Low), inPercent(b.High))
}

// SaySpringback tells a curve in a sentence or two; length writes a radius.
func SaySpringback(b bent.Bend, length func(float64) string) string {
	var say []string
	at := b.LatestAt()
	latest := at.Back
	switch {
	case latest.Expected.Known():
		say = append(say, fmt.Sprintf("Springback %s: %s of the mould's curve was given back, %s.", way(b.Across), SayBack(latest), WhenMeasured(at.After)))
	case b.Predicted.Known():
		return fmt.Sprintf("Springback %s: the lay-up foretells %s; nobody has measured it against the mould.", way(b.Across), Share(b.Predicted))
	default:
		return ""
	}
	if b.Predicted.Known() {
		say = append(say, "The lay-up foretold "+Share(b.Predicted)+agreement(b.Predicted, latest)+".")
	}
	if b.MouldByPlan && b.MouldM.Known() {
		say = append(say, fmt.Sprintf("The mould is taken to be as planned, with a radius of %s: nobody measured it.", length(float64(b.MouldM))))
	}
	return strings.Join(say, " ")
}

// agreement says whether the ruler can tell the two apart.
func agreement(predicted press.Num, b press.Band) string {
	switch {
	case !b.Low.Known() || !b.High.Known():
		return ""
	case predicted < b.Low:
		return ", less than that"
	case predicted > b.High:
		return ", more than that"
	}
	return "; the ruler cannot tell the two apart"
}
