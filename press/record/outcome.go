package record

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// After says when a blank was measured: wood and glue go on moving once the
// clamp is off.
type After string

// The three times at which nightclamp asks.
const (
	AtRelease After = "release"
	AfterDay  After = "day"
	AfterWeek After = "week"
)

// Afters lists them in order.
func Afters() []After { return []After{AtRelease, AfterDay, AfterWeek} }

// Later is how long after the release it is.
func (a After) Later() time.Duration {
	switch a {
	case AfterDay:
		return 24 * time.Hour
	case AfterWeek:
		return 7 * 24 * time.Hour
	case AtRelease:
	}
	return 0
}

// Set reads it from a flag.
func (a *After) Set(text string) error {
	if !slices.Contains(Afters(), After(text)) {
		return fmt.Errorf("%q: use release, day or week", text)
	}
	*a = After(text)
	return nil
}

// String is the word itself.
func (a *After) String() string { return string(*a) }

// Type names the kind of value in a command's help.
func (a *After) Type() string { return "when" }

// Curve is what a ruler says of one curve of a blank and its mould, in metres.
// What was not measured is unknown.
type Curve struct {
	DepthM       press.Num `json:"depth_m"`  // of the blank, over the span
	RadiusM      press.Num `json:"radius_m"` // of the blank
	SpanM        press.Num `json:"span_m"`   // over which the depths were measured
	MouldDepthM  press.Num `json:"mould_depth_m"`
	MouldRadiusM press.Num `json:"mould_radius_m"`
}

// NoCurve is one of which nothing was measured.
func NoCurve() Curve {
	return Curve{press.Unknown(), press.Unknown(), press.Unknown(), press.Unknown(), press.Unknown()}
}

// Outcome is what came out of the bag, as the builder measured it at one time.
type Outcome struct {
	After       After     `json:"after"`
	Entered     time.Time `json:"entered"` // when it was written down
	Along       Curve     `json:"along"`
	Across      Curve     `json:"across"`
	WeightKg    press.Num `json:"weight_kg"`
	Delaminated *bool     `json:"delaminated"` // nil: not said
	Notes       string    `json:"notes"`
	Photos      []Photo   `json:"photos"`
}

// Photo is a picture that lies as a file in the record's folder of photos; the
// record itself has a small one.
type Photo struct {
	Name   string `json:"name"`   // of the file
	SHA256 string `json:"sha256"` // of the file, hexadecimal
	Bytes  int64  `json:"bytes"`
	Width  int    `json:"width"` // upright, pixels
	Height int    `json:"height"`
	Thumb  []byte `json:"thumb"` // JPEG; base64 in JSON
}

// AddPhoto takes a picture in; one of the same name is there already.
func (o *Outcome) AddPhoto(p Photo) {
	if !slices.ContainsFunc(o.Photos, func(there Photo) bool { return there.Name == p.Name }) {
		o.Photos = append(o.Photos, p)
	}
}

// NewOutcome is one in which nothing is known yet.
func NewOutcome(after After) Outcome {
	return Outcome{After: after, Along: NoCurve(), Across: NoCurve(), WeightKg: press.Unknown(), Photos: []Photo{}}
}

// PutOutcome keeps what came out of a run, in place of what was kept for the
// same time before. due also puts the run down for the build log. It may be
// called beside a daemon: see [OpenBeside].
func (s *Store) PutOutcome(ctx context.Context, run string, o Outcome, due bool) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.inWriteTx(ctx, func(tx querier) error {
		n, err := s.runNumber(ctx, tx, run)
		if err != nil {
			return err
		}
		if err := putOutcome(ctx, tx, n, o); err != nil || !due {
			return err
		}
		return markDue(ctx, tx, n)
	})
	return explain(s.path, "write what came out of run "+run, err)
}

func putOutcome(ctx context.Context, tx querier, run int64, o Outcome) error {
	if !slices.Contains(Afters(), o.After) {
		return fmt.Errorf("an outcome measured %q: use release, day or week", o.After)
	}
	if o.Photos == nil {
		o.Photos = []Photo{}
	}
	body, err := json.Marshal(o)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO outcome (run, after, body) VALUES (?,?,?)
		ON CONFLICT (run, after) DO UPDATE SET body = excluded.body`, run, string(o.After), string(body))
	return err
}

// Outcomes returns what came out of a run, in order of time.
func (s *Store) Outcomes(ctx context.Context, run string) ([]Outcome, error) {
	var list []Outcome
	err := each(ctx, s.read, func(row scanner) error {
		var body string
		if err := row.Scan(&body); err != nil {
			return err
		}
		var o Outcome
		if err := json.Unmarshal([]byte(body), &o); err != nil {
			return fmt.Errorf("outcome %s: %w", body, err)
		}
		list = append(list, o)
		return nil
	}, `SELECT body FROM outcome WHERE run = (SELECT n FROM run WHERE id = ?)`, run)
	slices.SortFunc(list, func(a, b Outcome) int {
		return slices.Index(Afters(), a.After) - slices.Index(Afters(), b.After)
	})
	return list, explain(s.path, "read what came out of run "+run, err)
}

// Outcome returns what was written down for one time, or an empty one.
func (s *Store) Outcome(ctx context.Context, run string, after After) (Outcome, error) {
	list, err := s.Outcomes(ctx, run)
	if err != nil {
		return Outcome{}, err
	}
	for _, o := range list {
		if o.After == after {
			return o, nil
		}
	}
	return NewOutcome(after), nil
}

// Question is one that nobody has answered yet: what came out of this run?
type Question struct {
	Run    Run
	After  After
	DueAt  time.Time // since when it can be answered
	Asked  bool      // somebody was told of it
	asking int64     // order of asking
}

// stale is when a question that nobody answers is dropped.
const stale = 30 * 24 * time.Hour

// Questions returns what can be answered now and was not, newest first. A
// question is open from its time on until the next one is, a week's for a month.
func (s *Store) Questions(ctx context.Context, now time.Time) ([]Question, error) {
	runs, err := s.selectRuns(ctx, `WHERE ended > ? ORDER BY ended DESC`, now.Add(-stale-AfterWeek.Later()).UnixNano())
	if err != nil {
		return nil, err
	}
	var open []Question
	for _, run := range runs {
		q, ok, err := s.question(ctx, run, now)
		if err != nil {
			return nil, explain(s.path, "read the open questions", err)
		}
		if ok {
			open = append(open, q)
		}
	}
	return open, nil
}

// question is the one about a run whose time has come last.
func (s *Store) question(ctx context.Context, run Run, now time.Time) (Question, bool, error) {
	q := Question{Run: run}
	for _, after := range Afters() {
		if at := run.Ended.Add(after.Later()); !at.After(now) {
			q.After, q.DueAt = after, at
		}
	}
	if q.DueAt.IsZero() || now.Sub(q.DueAt) > stale {
		return q, false, nil
	}
	var answered bool
	err := s.read.QueryRowContext(ctx, `SELECT
		EXISTS (SELECT 1 FROM outcome WHERE run = r.n AND after = ?2),
		coalesce((SELECT n FROM asked WHERE run = r.n AND after = ?2), 0)
		FROM run AS r WHERE id = ?1`, run.ID, string(q.After)).Scan(&answered, &q.asking)
	q.Asked = q.asking > 0
	return q, !answered, err
}

// LastAsked is the question that was asked last of all, if it is among those open.
func (s *Store) LastAsked(ctx context.Context, open []Question) (Question, bool, error) {
	var last int64
	if err := s.read.QueryRowContext(ctx, `SELECT coalesce(max(n), 0) FROM asked`).Scan(&last); err != nil {
		return Question{}, false, explain(s.path, "read the question that was asked last", err)
	}
	for _, q := range open {
		if q.Asked && q.asking == last {
			return q, true, nil
		}
	}
	return Question{}, false, nil
}

// Ask remembers that a question was asked, so that it is asked once.
func (s *Store) Ask(ctx context.Context, q Question, at time.Time) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.inWriteTx(ctx, func(tx querier) error {
		n, err := s.runNumber(ctx, tx, q.Run.ID)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO asked (run, after, at) VALUES (?,?,?) ON CONFLICT DO NOTHING`,
			n, string(q.After), at.UnixNano())
		return err
	})
	return explain(s.path, "write what was asked", err)
}

// ErrNotReleased says that a run that is still in the bag has no outcome.
var ErrNotReleased = errors.New("the run has not been released yet")
