package line

import (
	"context"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// A sensor that sends every half minute has sent four lines when it is called
// silent: what was wrong with them must be told then, not after ten.
func TestInboxSaysWhatCame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p, err := New(nil)
		if err != nil {
			t.Fatal(err)
		}
		b := NewInbox(p)
		take := func() error {
			ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
			defer cancel()
			_, err := b.Take(ctx)
			return err
		}
		if err := take(); !errors.Is(err, context.DeadlineExceeded) || !strings.Contains(err.Error(), "no line came") {
			t.Errorf("nothing sent: %v", err)
		}
		for range 4 {
			b.Put(time.Now(), []byte(`{"bag_kpa":16}`))
		}
		if err := take(); !errors.Is(err, ErrNoLine) || !strings.Contains(err.Error(), "4 lines") || !strings.Contains(err.Error(), "did you mean bag_pa?") {
			t.Errorf("four that cannot be read: %v", err)
		}
		b.Put(time.Now(), []byte(`{"bag_pa":16000}`))
		if err := take(); err != nil {
			t.Errorf("a good one after them: %v", err)
		}
		if err := take(); err == nil || strings.Contains(err.Error(), "bag_kpa") {
			t.Errorf("silent after it: %v", err)
		}
		for range mostOdd {
			b.Put(time.Now(), []byte(`hello`))
		}
		if err := take(); !errors.Is(err, ErrNoLine) || !strings.Contains(err.Error(), "10 lines") {
			t.Errorf("ten that cannot be read: %v", err)
		}
	})
}
