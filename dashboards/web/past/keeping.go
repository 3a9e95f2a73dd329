package past

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
	"github.com/nightclamp/nightclamp/press/record/compare"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/photo"
	"github.com/nightclamp/nightclamp/press/units"
)

// Keeping lets the page write down what came out, compare runs and fetch a press
// record. It is a [web.Keeping].
type Keeping struct {
	store   *record.Store
	display units.Display
	due     bool // what changes is to be written into the build log
}

// NewKeeping returns the keeping of a store; buildLog says whether there is a
// build log that should hear of it.
func NewKeeping(store *record.Store, display units.Display, buildLog bool) *Keeping {
	return &Keeping{store, display, buildLog}
}

func (k *Keeping) find(ctx context.Context, id string) (record.Run, error) {
	return (&Records{store: k.store, display: k.display}).find(ctx, id)
}

// CameOut is what came out of a run, as openapi.json describes it.
type CameOut struct {
	Run      string           `json:"run"`
	Work     string           `json:"work"`
	Released time.Time        `json:"released,omitzero"`
	Now      record.After     `json:"now"` // the time that has come last
	Outcomes []record.Outcome `json:"outcomes"`
	Bends    []bent.Bend      `json:"bends"`
	Says     []string         `json:"says"` // the springback in plain sentences
}

// CameOut returns what came out of a run.
func (k *Keeping) CameOut(ctx context.Context, id string) (any, error) {
	run, err := k.find(ctx, id)
	if err != nil {
		return nil, err
	}
	return k.cameOut(ctx, run)
}

func (k *Keeping) cameOut(ctx context.Context, run record.Run) (CameOut, error) {
	outcomes, err := k.store.Outcomes(ctx, run.ID)
	if err != nil {
		return CameOut{}, err
	}
	c := CameOut{Run: run.ID, Work: run.Work, Released: run.Ended, Outcomes: []record.Outcome{}, Bends: []bent.Bend{}, Says: []string{}, Now: record.AtRelease}
	for _, o := range outcomes {
		for i := range o.Photos {
			o.Photos[i].Thumb = nil // the page fetches the picture itself
		}
		c.Outcomes = append(c.Outcomes, o)
	}
	for _, after := range record.Afters() {
		if !run.Ended.IsZero() && time.Since(run.Ended) >= after.Later() {
			c.Now = after
		}
	}
	for _, b := range bent.Of(run, outcomes) {
		c.Bends = append(c.Bends, b)
		if text := export.SaySpringback(b, k.display.Length); text != "" {
			c.Says = append(c.Says, text)
		}
	}
	return c, nil
}

// maxNotes is the longest note that is taken, in bytes.
const maxNotes = 4000

// change reads an outcome, lets do change it and keeps it.
func (k *Keeping) change(ctx context.Context, id, after string, do func(record.Run, *record.Outcome) error) (any, error) {
	run, err := k.find(ctx, id)
	if err != nil {
		return nil, err
	}
	var when record.After
	if err := when.Set(after); err != nil {
		return nil, press.Errorf(press.BadOrder, "%v", err)
	}
	if run.Ended.IsZero() {
		return nil, press.Errorf(press.WrongStage, "run %s: %v", run.ID, record.ErrNotReleased)
	}
	o, err := k.store.Outcome(ctx, run.ID, when)
	if err != nil {
		return nil, err
	}
	if err := do(run, &o); err != nil {
		return nil, err
	}
	o.Entered = time.Now().UTC().Truncate(time.Second)
	if err := k.store.PutOutcome(ctx, run.ID, o, k.due); err != nil {
		return nil, err
	}
	return k.cameOut(ctx, run)
}

// PutOutcome keeps what was measured.
func (k *Keeping) PutOutcome(ctx context.Context, id, after string, order web.OutcomeOrder) (any, error) {
	if len(order.Notes) > maxNotes {
		return nil, press.Errorf(press.BadOrder, "notes of %d bytes are too long; at most %d", len(order.Notes), maxNotes)
	}
	for _, n := range numbers(order) {
		if n.Known() && !(n >= 0 && n <= 1000) || math.IsInf(float64(n), 0) {
			return nil, press.Errorf(press.BadOrder, "%v is not what a blank has: give metres and kilograms, 0 to 1000", float64(n))
		}
	}
	return k.change(ctx, id, after, func(_ record.Run, o *record.Outcome) error {
		o.Along, o.Across = record.Curve(order.Along), record.Curve(order.Across)
		o.WeightKg, o.Delaminated, o.Notes = order.WeightKg, order.Delaminated, order.Notes
		return nil
	})
}

func numbers(o web.OutcomeOrder) []press.Num {
	list := []press.Num{o.WeightKg}
	for _, c := range []web.CurveOrder{o.Along, o.Across} {
		list = append(list, c.DepthM, c.RadiusM, c.SpanM, c.MouldDepthM, c.MouldRadiusM)
	}
	return list
}

// AddPhoto keeps a picture with what was measured at that time.
func (k *Keeping) AddPhoto(ctx context.Context, id, after, name string, in io.Reader) (any, error) {
	return k.change(ctx, id, after, func(run record.Run, o *record.Outcome) error {
		p, err := photo.Keep(photo.Folder(k.store.Path()), run.ID, name, in)
		if errors.Is(err, photo.ErrRefused) {
			return press.Errorf(press.BadOrder, "%v", err)
		}
		if err != nil {
			return err
		}
		o.AddPhoto(p)
		return nil
	})
}

// Photo returns the file of a picture that the record knows.
func (k *Keeping) Photo(ctx context.Context, id, name string) (string, error) {
	run, err := k.find(ctx, id)
	if err != nil {
		return "", err
	}
	outcomes, err := k.store.Outcomes(ctx, run.ID)
	if err != nil {
		return "", err
	}
	path := photo.Path(photo.Folder(k.store.Path()), run.ID, name)
	for _, o := range outcomes {
		for _, p := range o.Photos {
			if _, err := os.Stat(path); p.Name == name && err == nil {
				return path, nil
			}
		}
	}
	return "", press.Errorf(press.NotFound, "no photo %q of run %s", name, run.ID)
}

// Zip writes the press record of a run.
func (k *Keeping) Zip(ctx context.Context, id string, w io.Writer) (string, error) {
	run, err := k.find(ctx, id)
	if err != nil {
		return "", err
	}
	return export.Zip(ctx, k.store, run.ID, w, export.Options{Display: k.display, Photos: photo.Folder(k.store.Path())})
}

// Comparison is runs side by side, as openapi.json describes it.
type Comparison struct {
	Runs []ComparedRun `json:"runs"`
	Fits []Said        `json:"fits"`
}

// ComparedRun is one of them, with its figures as people read them.
type ComparedRun struct {
	compare.Facts
	Shown shownFacts `json:"shown"`
}

type shownFacts struct {
	Started   string `json:"started"`
	Earned    string `json:"earned"`
	Unclamped string `json:"unclamped"`
	Coldest   string `json:"coldest"`
	Leak      string `json:"leak"`
	Along     string `json:"along"`
	Across    string `json:"across"`
	Weight    string `json:"weight"`
}

// Said is a fit in plain sentences.
type Said struct {
	compare.Fitted
	Says string `json:"says"`
}

// Compare puts the last runs side by side.
func (k *Keeping) Compare(ctx context.Context, name string, last int) (any, error) {
	runs, err := compare.Select(ctx, k.store, k.store.Run, nil, name, last)
	if err != nil {
		return nil, err
	}
	facts := []compare.Facts{}
	for _, run := range runs {
		f, err := compare.Gather(ctx, k.store, run)
		if err != nil {
			return nil, err
		}
		facts = append(facts, f)
	}
	c := Comparison{Runs: []ComparedRun{}, Fits: []Said{}}
	for _, f := range facts {
		c.Runs = append(c.Runs, ComparedRun{f, k.show(f)})
	}
	for _, f := range compare.Of(facts).Fits {
		c.Fits = append(c.Fits, Said{f, f.Say(k.display)})
	}
	return c, nil
}

func (k *Keeping) show(f compare.Facts) shownFacts {
	location := k.display.Location
	if location == nil {
		location = time.UTC
	}
	s := shownFacts{
		Started: f.Started.In(location).Format("2 Jan 2006"), Earned: whole(f.Progress), Unclamped: whole(f.Unclamped),
		Coldest: k.display.Temperature(float64(f.ColdestC)), Leak: k.display.Rate(float64(f.Leak.Expected)),
		Weight: k.display.Mass(float64(f.WeightKg)), Along: units.Missing, Across: units.Missing,
	}
	for _, b := range f.Bends {
		text := export.Share(b.Predicted) + " → " + export.Share(b.Measured.Expected)
		if b.Across {
			s.Across = text
		} else {
			s.Along = text
		}
	}
	return s
}

func whole(n press.Num) string {
	if !n.Known() {
		return units.Missing
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(n)+1e-9))
}
