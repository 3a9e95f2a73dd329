package bent_test

import (
	"math"
	"testing"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
)

func near(a press.Num, b, tolerance float64) bool { return math.Abs(float64(a)-b) <= tolerance }

// A circle of radius 5 has a sagitta of 1 over a chord of 6: the triangle 3-4-5
// (Euclid, Elements III.35: (s/2)² = d (2R − d)).
func TestDepthIsARadius(t *testing.T) {
	o := record.NewOutcome(record.AtRelease)
	o.Along.DepthM, o.Along.SpanM, o.Along.MouldRadiusM = 1, 6, 4.5
	got := bent.Of(record.Run{}, []record.Outcome{o})
	if len(got) != 1 || got[0].Across || !near(got[0].Times[0].RadiusM, 5, 1e-12) || !near(got[0].Latest().Expected, 0.1, 1e-12) {
		t.Fatalf("%+v", got)
	}
	if b := got[0].Latest(); !(b.Low < b.Expected && b.Expected < b.High) {
		t.Errorf("the ruler is taken for exact: %+v", b)
	}
}

// What the plan of a lay-up says comes back when the blank does exactly as it
// says: n equal plies give back 1/n² of the curve.
func TestAsPlanned(t *testing.T) {
	text := []byte("area_m2 = 0.2\nplies = [ { mm = 2, wood = \"birch\", count = 5 } ]\nbends = [ { direction = \"along\", radius_mm = 900, span_mm = 600 } ]\n")
	l, err := layup.Parse("test", text)
	if err != nil {
		t.Fatal(err)
	}
	plan := l.BendPlans()[0]
	o := record.NewOutcome(record.AfterDay)
	o.Along.DepthM = press.Num(layup.Sagitta(plan.WantedM, plan.SpanM)) // it came out as wanted
	got := bent.Of(record.Run{Layup: text}, []record.Outcome{o})
	if len(got) != 1 || !near(got[0].Predicted, 1.0/25, 1e-9) || !got[0].MouldByPlan || !near(got[0].WantedM, 0.9, 1e-12) {
		t.Fatalf("%+v", got)
	}
	if !near(got[0].Latest().Expected, 1.0/25, 1e-9) {
		t.Errorf("measured %v", got[0].Latest())
	}
	if none := bent.Of(record.Run{Layup: text}, nil); len(none) != 1 || none[0].Latest().Expected.Known() {
		t.Errorf("nothing was measured: %+v", none)
	}
}

// Without a span the depths alone are compared.
func TestDepthsAlone(t *testing.T) {
	first, later := record.NewOutcome(record.AtRelease), record.NewOutcome(record.AfterWeek)
	first.Across.DepthM, first.Across.MouldDepthM = 0.019, 0.020
	later.Across.DepthM = 0.018
	got := bent.Of(record.Run{}, []record.Outcome{first, later})
	if len(got) != 1 || !got[0].Across || len(got[0].Times) != 2 || got[0].MouldByPlan || got[0].Times[0].RadiusM.Known() {
		t.Fatalf("%+v", got)
	}
	if !near(got[0].Times[0].Back.Expected, 0.05, 1e-12) || !near(got[0].Latest().Expected, 0.1, 1e-12) {
		t.Errorf("%+v", got[0].Times)
	}
	// Half a millimetre each way: (18.5/19.5) and (17.5/20.5) of it is left.
	if b := got[0].Latest(); !near(b.Low, 1-18.5/19.5, 1e-9) || !near(b.High, 1-17.5/20.5, 1e-9) {
		t.Errorf("%+v", b)
	}
}

// Nonsense gives nothing rather than a number.
func TestNonsense(t *testing.T) {
	o := record.NewOutcome(record.AtRelease)
	o.Along.DepthM, o.Along.MouldDepthM = 0, 0.0005
	for _, b := range bent.Of(record.Run{Layup: []byte("plies = [")}, []record.Outcome{o}) {
		if b.PlanError == "" || b.Predicted.Known() {
			t.Errorf("%+v", b)
		}
		for _, n := range []press.Num{b.Latest().Low, b.Latest().Expected, b.Latest().High} {
			if math.IsInf(float64(n), 0) {
				t.Errorf("%+v", b.Latest())
			}
		}
	}
}
