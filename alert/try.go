package alert

import (
	"context"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// testID stands in for the ID of an alert in messages that are only a test.
const testID = "test"

// Test sends a message, marked as a test, through every way at once, past the
// outbox, and returns what each said, in the order of the config.
func (w Ways) Test(ctx context.Context, site string) []press.Tried {
	list := make([]press.Tried, len(w.list))
	var wg sync.WaitGroup
	for i, o := range w.list {
		wg.Go(func() {
			now := time.Now()
			d := press.Delivery{
				Key:     testID + "|" + string(press.AlertRaised) + "|" + now.UTC().Format(time.RFC3339Nano) + "|" + o.Name,
				AlertID: testID, Way: o.Name, Severity: press.Note, Created: now, DueAt: now,
				Title: site + ": test",
				Text:  "This is a test of nightclamp's alerts: nothing has happened. If you read this, this way out works.",
			}
			trying, cancel := context.WithTimeout(ctx, sendPatience)
			defer cancel()
			err := o.sender.Send(trying, d)
			list[i] = press.Tried{Way: o.Name, TookS: time.Since(now).Seconds()}
			if err != nil {
				list[i].Error = err.Error()
			}
		})
	}
	wg.Wait()
	return list
}
