package daemon

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/photo"
	"github.com/nightclamp/nightclamp/press/units"
)

// Keeping says what is done with runs that are over.
type Keeping struct {
	BuildLog  string           // the folder into which runs are written; empty: none
	Display   units.Display    // how they are written
	ThinAfter time.Duration    // when their samples are thinned; 0: never
	MaxBytes  int64            // what the record may take before the oldest are; 0: whatever there is
	Now       func() time.Time // nil: the wall clock
}

// keeper looks after runs that are over: it writes them into the build log, and
// asks what came out of the bag. It goes by the wall clock, for nobody samples a
// blank on the bench. Nothing that fails here stops the watch.
type keeper struct {
	Keeping
	store *record.Store
	log   *slog.Logger
	ended chan struct{} // a run is over: look at once

	mu      sync.Mutex
	todo    map[string][]press.Todo // by press
	asked   record.Question         // the one that was put last, while it is open
	unheard bool                    // and the board has not looked at it yet
	shown   string                  // what the board saw last
	failing string                  // why the build log cannot be written; empty: it can
	retry   time.Time               // when it is tried again
	thinned time.Time               // when it was last looked for runs to thin
}

const (
	keepEvery  = 30 * time.Second
	retryAfter = 5 * time.Minute
	thinEvery  = 6 * time.Hour
)

func newKeeper(k Keeping, store *record.Store, log *slog.Logger) *keeper {
	if k.Now == nil {
		k.Now = time.Now
	}
	return &keeper{Keeping: k, store: store, log: log, unheard: true, ended: make(chan struct{}, 1), todo: map[string][]press.Todo{}}
}

// runEnded has the keeper look at once.
func (k *keeper) runEnded() {
	select {
	case k.ended <- struct{}{}:
	default:
	}
}

// run looks after the runs until ctx ends.
func (k *keeper) run(ctx context.Context) {
	tick := time.NewTicker(keepEvery)
	defer tick.Stop()
	for {
		if err := k.round(ctx); err != nil && !errors.Is(err, context.Canceled) {
			k.log.Warn("runs that are over cannot be looked after; tried again", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		case <-k.ended:
		}
	}
}

// round is one look.
func (k *keeper) round(ctx context.Context) error {
	now := k.Now()
	todo := map[string][]press.Todo{}
	failed := k.writeLog(ctx, now, todo)
	questions, err := k.store.Questions(ctx, now)
	if err != nil {
		return errors.Join(failed, err)
	}
	questions = worthAsking(questions)
	err = k.ask(ctx, questions, now)
	for _, q := range questions {
		todo[q.Run.Press] = append(todo[q.Run.Press], press.Todo{
			Kind: press.TodoOutcome, Run: q.Run.ID, After: string(q.After), Since: q.DueAt, Text: questionText(q),
		})
	}
	k.mu.Lock()
	k.todo = todo
	k.mu.Unlock()
	return errors.Join(failed, err, k.thin(ctx, now))
}

// thin makes old runs smaller, where the config asks for it.
func (k *keeper) thin(ctx context.Context, now time.Time) error {
	since := now.Sub(k.thinned)
	if (k.ThinAfter <= 0 && k.MaxBytes <= 0) || (since >= 0 && since < thinEvery) {
		return nil
	}
	k.thinned = now
	var done []record.Pruned
	var err error
	if k.ThinAfter > 0 {
		done, err = k.store.Prune(ctx, record.Pruning{Before: now.Add(-max(k.ThinAfter, record.LeastAge))})
	}
	if k.MaxBytes > 0 && err == nil {
		var more []record.Pruned
		more, err = k.store.Prune(ctx, record.Pruning{Before: now.Add(-record.LeastAge), MaxBytes: k.MaxBytes})
		done = append(done, more...)
	}
	for _, p := range done {
		k.log.Info("samples of an old run thinned, as the config asks", "run", p.Run, "rows", p.Rows, "after", p.After)
	}
	return err
}

// leastWork is how long a run must have been to be taken for a blank, where it did
// not come to its press time: shorter ones are tests of the bag.
const leastWork = time.Hour

func worthAsking(all []record.Question) []record.Question {
	var list []record.Question
	for _, q := range all {
		switch q.Run.Verdict {
		case press.Pressed, press.PartClamped, press.FilmLost:
		default:
			if q.Run.Ended.Sub(q.Run.Started) < leastWork {
				continue
			}
		}
		list = append(list, q)
	}
	return list
}

// ask puts the next question that nobody was asked. Those of the release are not
// put: whoever opens the bag is there.
func (k *keeper) ask(ctx context.Context, open []record.Question, now time.Time) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.unheard && isOpen(k.asked, open) {
		return nil
	}
	var err error
	if k.asked, _, err = k.store.LastAsked(ctx, open); err != nil || k.unheard {
		return err // one of an earlier life must be seen first
	}
	for _, q := range slices.Backward(open) {
		if q.Asked || q.After == record.AtRelease {
			continue
		}
		if err := k.store.Ask(ctx, q, now); err != nil {
			return err
		}
		q.Asked = true
		k.asked, k.unheard = q, true
		return nil
	}
	return nil
}

func isOpen(q record.Question, open []record.Question) bool {
	return q.Asked && slices.ContainsFunc(open, func(o record.Question) bool { return o.Run.ID == q.Run.ID && o.After == q.After })
}

// AskedOutcome is the question that was put last, while nobody has answered it. One
// that takes the place of another is held back for one look, so that the other one
// ends and the new one is told.
func (d *Daemon) AskedOutcome() string {
	k := d.keeper
	k.mu.Lock()
	defer k.mu.Unlock()
	text := ""
	if k.asked.Asked {
		text = questionText(k.asked)
	}
	if k.shown != "" && text != k.shown {
		text = ""
	} else {
		k.unheard = false
	}
	k.shown = text
	return text
}

func questionText(q record.Question) string {
	what := q.Run.Work
	if what == "" {
		what = "the work of run " + q.Run.ID
	}
	text := "How did " + what + " come out? "
	switch q.After {
	case record.AfterDay:
		text = "It is a day since " + what + " came out of the bag. What does it measure now? "
	case record.AfterWeek:
		text = "It is a week since " + what + " came out of the bag. What does it measure now? "
	case record.AtRelease:
	}
	return text + "Write it down with `nightclamp record outcome " + q.Run.ID + "`, or on the page of the run."
}

// writeLog writes the runs that are due into the build log. What fails stays due.
func (k *keeper) writeLog(ctx context.Context, now time.Time, todo map[string][]press.Todo) error {
	due, err := k.store.Unlogged(ctx)
	if err != nil || k.BuildLog == "" || len(due) == 0 {
		k.setFailing("", time.Time{})
		return err
	}
	k.mu.Lock()
	wait := k.failing != "" && now.Before(k.retry) && !now.Before(k.retry.Add(-2*retryAfter))
	k.mu.Unlock()
	var failed error
	for _, d := range due {
		if !wait {
			if err := k.export(ctx, d.Run); err != nil {
				failed = err
				d.Error = err.Error()
			} else {
				continue
			}
		}
		if run, err := k.store.Run(ctx, d.Run); err == nil && d.Error != "" {
			todo[run.Press] = append(todo[run.Press], press.Todo{
				Kind: press.TodoBuildLog, Run: run.ID, Since: run.Ended,
				Text: "Run " + run.ID + " is not in the build log yet; it is tried again. It says: " + d.Error,
			})
		}
	}
	switch {
	case failed != nil:
		k.setFailing(failed.Error(), now.Add(retryAfter))
	case !wait:
		k.setFailing("", time.Time{})
	}
	return nil
}

func (k *keeper) setFailing(why string, retry time.Time) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.failing, k.retry = why, retry
}

// export writes one run and remembers how it went.
func (k *keeper) export(ctx context.Context, id string) error {
	folder, err := export.Export(ctx, k.store, id, k.BuildLog, export.Options{
		Display: k.Display, Photos: photo.Folder(k.store.Path()),
		Kept: func(file, beside string) {
			k.log.Info("a file of the build log was changed by hand and is left as it is", "file", file, "new_text", beside)
		},
	})
	if err != nil {
		k.log.Warn("run not written into the build log; tried again", "run", id, "error", err)
		return errors.Join(err, k.store.Logged(ctx, id, err))
	}
	k.log.Info("run written into the build log", "run", id, "folder", folder)
	return k.store.Logged(ctx, id, nil)
}

// BuildLogFailing is why the build log cannot be written; empty: it can.
func (d *Daemon) BuildLogFailing() string {
	d.keeper.mu.Lock()
	defer d.keeper.mu.Unlock()
	return d.keeper.failing
}

// openTodo is what waits for the builder of one press.
func (k *keeper) openTodo(name string) []press.Todo {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.todo[name]
}
