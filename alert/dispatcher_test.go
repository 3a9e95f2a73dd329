package alert

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// box is an outbox in memory that behaves as the record's does.
type box struct {
	mu     sync.Mutex
	list   []press.Delivery
	state  map[string]string
	broken bool // cannot be written
}

func newBox(ds ...press.Delivery) *box {
	return &box{list: ds, state: map[string]string{}}
}

func (b *box) put(ds ...press.Delivery) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.list = append(b.list, ds...)
}

func (b *box) Due(_ context.Context, now time.Time, limit int) (due []press.Delivery, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, d := range b.list {
		if b.state[d.Key] == "" && !d.DueAt.After(now) && len(due) < limit {
			due = append(due, d)
		}
	}
	return due, nil
}

func (b *box) settle(key string, change func(d *press.Delivery)) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.broken {
		return errors.New("disk full")
	}
	for i := range b.list {
		if b.list[i].Key == key && b.state[key] == "" {
			b.list[i].Attempts++
			change(&b.list[i])
			return nil
		}
	}
	return fmt.Errorf("no %s", key)
}

func (b *box) Sent(_ context.Context, key string) error {
	return b.settle(key, func(*press.Delivery) { b.state[key] = "sent" })
}

func (b *box) Retry(_ context.Context, key string, at time.Time, failure string) error {
	return b.settle(key, func(d *press.Delivery) { d.DueAt, d.Error = at, failure })
}

func (b *box) GiveUp(_ context.Context, key, failure string) error {
	return b.settle(key, func(d *press.Delivery) { b.state[key], d.Error = "given up", failure })
}

func (b *box) stateOf(key string) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.state[key]
}

// phone is a way out that fails as it is told.
type phone struct {
	mu   sync.Mutex
	fail func(d press.Delivery) error
	got  []string
	at   []time.Time
}

func (p *phone) Send(ctx context.Context, d press.Delivery) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.at = append(p.at, time.Now())
	if p.fail != nil {
		if err := p.fail(d); err != nil {
			return err
		}
	}
	p.got = append(p.got, d.Key)
	return ctx.Err()
}

func (p *phone) received() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.got)
}

func message(key, alertID, way string, severity press.Severity) press.Delivery {
	now := time.Now()
	return press.Delivery{Key: key, AlertID: alertID, Way: way, Severity: severity, Title: key, Created: now, DueAt: now}
}

// dispatch runs a dispatcher for the test with the given ways.
func dispatch(t *testing.T, b *box, senders map[string]Sender) *Dispatcher {
	t.Helper()
	var ways Ways
	for name, s := range senders {
		ways.list = append(ways.list, openWay{Way{Name: name, AtLeast: press.Note}, s})
	}
	d := NewDispatcher(b, ways, quiet())
	runDispatcher(t, d)
	return d
}

func runDispatcher(t *testing.T, d *Dispatcher) {
	t.Helper()
	background(t, d.Run)
}

// background runs a part until the test ends.
func background(t *testing.T, run func(context.Context) error) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := run(ctx); err != nil {
			t.Errorf("run: %v", err)
		}
	})
	t.Cleanup(func() { stop(); wg.Wait() })
}

func contextOver(t *testing.T) (context.Context, context.CancelFunc) {
	t.Helper()
	return context.WithTimeout(t.Context(), time.Millisecond)
}

func TestDeliveredAtOnceWhenWoken(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, p := newBox(), &phone{}
		d := dispatch(t, b, map[string]Sender{"p": p})
		synctest.Wait()
		start := time.Now()
		b.put(message("a1", "a", "p", press.Wake), message("b1", "b", "p", press.Note))
		d.Wake()
		synctest.Wait()
		if got := p.received(); !slices.Equal(got, []string{"a1", "b1"}) || time.Since(start) != 0 {
			t.Errorf("received %v after %s", got, time.Since(start))
		}
		if b.stateOf("a1") != "sent" {
			t.Error("not marked as sent")
		}
	})
}

func TestANightWithoutNetwork(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		down := true
		p := &phone{}
		p.fail = func(press.Delivery) error {
			if down {
				return errors.New("no route to host")
			}
			return nil
		}
		b := newBox(message("a1", "a", "p", press.Wake), message("b1", "b", "p", press.Note), message("a2", "a", "p", press.Note))
		d := dispatch(t, b, map[string]Sender{"p": p})
		time.Sleep(8 * time.Hour) // in the bubble's time
		synctest.Wait()
		if h := d.Health()[0]; h.Failing.IsZero() || h.Waiting != 3 || h.Error == "" {
			t.Errorf("health %+v", h)
		}
		tries := len(p.at)
		if tries < 8*60 || tries > 8*3600/10 {
			t.Errorf("%d tries in a night: too few, or a storm", tries)
		}
		p.mu.Lock()
		down = false
		p.mu.Unlock()
		time.Sleep(6 * time.Minute)
		synctest.Wait()
		got := p.received()
		if slices.Index(got, "a1") > slices.Index(got, "a2") || len(got) != 3 {
			t.Errorf("received %v; each once and a1 before a2", got)
		}
		if h := d.Health()[0]; !h.Failing.IsZero() || h.LastOK.IsZero() {
			t.Errorf("health %+v", h)
		}
	})
}

func TestAWrongTokenIsKeptAndReportedNotRetriedForEver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := &phone{fail: func(press.Delivery) error { return fmt.Errorf("401 Unauthorized (%w)", ErrPermanent) }}
		b := newBox(message("a1", "a", "p", press.Wake))
		d := dispatch(t, b, map[string]Sender{"p": p})
		time.Sleep(24 * time.Hour)
		synctest.Wait()
		if b.stateOf("a1") != "given up" || len(p.at) != triesWhenRefused {
			t.Errorf("%s after %d tries", b.stateOf("a1"), len(p.at))
		}
		if h := d.Health()[0]; h.Failing.IsZero() || h.Error == "" {
			t.Errorf("not reported: %+v", h)
		}
	})
}

func TestAHangingWayHoldsUpNoOther(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good := &phone{}
		b := newBox(message("a1", "a", "hangs", press.Wake), message("a2", "a", "good", press.Wake))
		dispatch(t, b, map[string]Sender{"hangs": hanging{}, "good": good})
		synctest.Wait()
		if got := good.received(); !slices.Equal(got, []string{"a2"}) {
			t.Errorf("received %v while another way hangs", got)
		}
	})
}

type hanging struct{}

func (hanging) Send(ctx context.Context, _ press.Delivery) error {
	<-ctx.Done()
	return ctx.Err()
}

func TestTheUrgentOvertakesTheLate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := &phone{}
		b := newBox(message("n1", "n", "p", press.Note), message("w1", "w", "p", press.Wake))
		dispatch(t, b, map[string]Sender{"p": p})
		synctest.Wait()
		if got := p.received(); !slices.Equal(got, []string{"w1", "n1"}) {
			t.Errorf("received %v", got)
		}
	})
}

func TestAnOutboxThatCannotBeWrittenMakesNoStorm(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := &phone{}
		b := newBox(message("a1", "a", "p", press.Wake))
		b.broken = true
		dispatch(t, b, map[string]Sender{"p": p})
		time.Sleep(time.Hour)
		synctest.Wait()
		if got := p.received(); len(got) != 1 {
			t.Errorf("sent %d times", len(got))
		}
		b.mu.Lock()
		b.broken = false
		b.mu.Unlock()
		time.Sleep(2 * time.Minute)
		synctest.Wait()
		if b.stateOf("a1") != "sent" || len(p.received()) != 1 {
			t.Errorf("%q after the disk had room again, sent %d times", b.stateOf("a1"), len(p.received()))
		}
	})
}

func TestLateAndLostMessages(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var titles []string
		p := &phone{}
		p.fail = func(d press.Delivery) error { titles = append(titles, d.Title); return nil }
		old, gone, slow := message("old", "o", "p", press.Note), message("gone", "g", "nowhere", press.Note), message("slow", "s", "p", press.Note)
		old.Created, slow.Created = time.Now().Add(-49*time.Hour), time.Now().Add(-time.Hour)
		b := newBox(old, gone, slow)
		dispatch(t, b, map[string]Sender{"p": p})
		synctest.Wait()
		if b.stateOf("old") != "given up" || b.stateOf("gone") != "given up" || b.stateOf("slow") != "sent" {
			t.Errorf("states %v", b.state)
		}
		if !slices.Equal(titles, []string{"slow (1 h late)"}) {
			t.Errorf("titles %q", titles)
		}
	})
}

func TestDeliveries(t *testing.T) {
	ways := Ways{list: []openWay{{Way{Name: "log", AtLeast: press.Note}, nil}, {Way{Name: "phone", AtLeast: press.Wake}, nil}}}
	raised := press.Alert{ID: "deck/margin_gone/1", Name: MarginGone, Press: "deck", Severity: press.Wake, State: press.AlertRaised, Text: "…", At: night}
	over, acked, swallowed, note := raised, raised, raised, raised
	over.State, over.Reason = press.AlertCleared, "margin_back"
	acked.State = press.AlertAcknowledged
	swallowed.State, swallowed.Reason = press.AlertCleared, "part of vacuum_lost"
	note.ID, note.Name, note.Severity = "deck/leak_found/1", LeakFound, press.Note
	got := ways.Deliveries([]press.Alert{raised, acked, swallowed, over, note})
	var lines []string
	keys := map[string]bool{}
	for _, d := range got {
		lines = append(lines, fmt.Sprintf("%s %s %s", d.Way, d.Severity, d.Title))
		keys[d.Key] = true
	}
	want := []string{
		"log wake deck: the bag will not hold", "phone wake deck: the bag will not hold",
		"log note deck: over: the bag will not hold", "phone note deck: over: the bag will not hold",
		"log note deck: a leak",
	}
	if !slices.Equal(lines, want) || len(keys) != len(got) {
		t.Errorf("got %q with %d keys", lines, len(keys))
	}
}

// TestAFullDiskKeepsNobodyAsleep: what the record does not take goes out from
// memory, once, also when the record takes it later.
func TestAFullDiskKeepsNobodyAsleep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		down := true
		p := &phone{}
		p.fail = func(press.Delivery) error {
			if down {
				return errors.New("no route to host")
			}
			return nil
		}
		b := newBox()
		b.broken = true
		d := dispatch(t, b, map[string]Sender{"p": p})
		first, second := message("a1", "a", "p", press.Wake), message("b1", "b", "p", press.Wake)
		for range 3 { // as a daemon does that tries its record every second
			d.Direct([]press.Delivery{first, second})
			time.Sleep(time.Second)
			synctest.Wait()
		}
		p.mu.Lock()
		down = false
		p.mu.Unlock()
		time.Sleep(time.Minute)
		synctest.Wait()
		if got := p.received(); len(got) != 2 {
			t.Errorf("with a full disk received %v", got)
		}
		b.mu.Lock()
		b.broken = false
		b.mu.Unlock()
		b.put(first, second)
		d.Wake()
		time.Sleep(time.Hour)
		synctest.Wait()
		if got := p.received(); len(got) != 2 || b.stateOf("a1") != "sent" || b.stateOf("b1") != "sent" {
			t.Errorf("received %v, states %v", got, b.state)
		}
	})
}

// TestOfANightOfRemindersTheLastIsEnough: after a night without network come the
// first message, which was tried all night, and the newest.
func TestOfANightOfRemindersTheLastIsEnough(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		down := true
		p := &phone{}
		p.fail = func(press.Delivery) error {
			if down {
				return errors.New("no route to host")
			}
			return nil
		}
		ways := Ways{list: []openWay{{Way{Name: "p"}, p}}}
		b := newBox()
		d := NewDispatcher(b, ways, quiet())
		runDispatcher(t, d)
		start := time.Now()
		for range 9 {
			a := raisedAt(time.Now(), press.Wake, time.Since(start))
			b.put(ways.Deliveries([]press.Alert{a})...)
			d.Wake()
			time.Sleep(time.Hour)
			synctest.Wait()
		}
		p.mu.Lock()
		down = false
		p.mu.Unlock()
		time.Sleep(time.Minute)
		synctest.Wait()
		if got := p.received(); !slices.Equal(got, []string{b.list[0].Key, b.list[8].Key}) {
			t.Errorf("received %v", got)
		}
	})
}
