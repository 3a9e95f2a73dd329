package record

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/nightclamp/nightclamp/press"
)

// AddEvents keeps events. They are durable on return. An event that is there
// already, the same in every field that goes over the wire, is kept once. A run
// that an event names must have been put before; an event of a press without a
// run names none.
func (s *Store) AddEvents(ctx context.Context, events ...press.Event) error {
	return s.Commit(ctx, Batch{Events: events})
}

func (s *Store) addEvent(ctx context.Context, tx querier, e press.Event) error {
	body, err := json.Marshal(e)
	if err != nil {
		return fmt.Errorf("event %s: %w", e.Kind, err)
	}
	var run any
	if e.Run != "" {
		if run, err = s.runNumber(ctx, tx, e.Run); err != nil {
			return fmt.Errorf("event %s: %w", e.Kind, err)
		}
	}
	digest := sha256.Sum256(body)
	_, err = tx.ExecContext(ctx, `INSERT INTO event (run, press, kind, time, digest, body) VALUES (?,?,?,?,?,?)
		ON CONFLICT (digest) DO NOTHING`, run, e.Press, string(e.Kind), nanos(e.Time), digest[:16], string(body))
	return err
}

// Events returns the events of a run in the order in which they happened. With
// an empty run it returns those of presses without a run.
func (s *Store) Events(ctx context.Context, run string) (events []press.Event, err error) {
	where, args := `run IS NULL`, []any(nil)
	if run != "" {
		where, args = `run = (SELECT n FROM run WHERE id = ?)`, []any{run}
	}
	err = each(ctx, s.read, func(row scanner) error {
		var body string
		if err := row.Scan(&body); err != nil {
			return err
		}
		var e press.Event
		if err := json.Unmarshal([]byte(body), &e); err != nil {
			return fmt.Errorf("event %s: %w", body, err)
		}
		events = append(events, e)
		return nil
	}, `SELECT body FROM event WHERE `+where+` ORDER BY n`, args...)
	return events, explain(s.path, "read events of run "+run, err)
}

// LastEvent returns the newest event of a press, with or without a run, that is of one
// of the kinds; false when there is none.
func (s *Store) LastEvent(ctx context.Context, pressName string, kinds ...press.Kind) (e press.Event, found bool, err error) {
	args := []any{pressName}
	for _, k := range kinds {
		args = append(args, string(k))
	}
	err = each(ctx, s.read, func(row scanner) error {
		var body string
		if err := row.Scan(&body); err != nil {
			return err
		}
		found = true
		return json.Unmarshal([]byte(body), &e)
	}, `SELECT body FROM event WHERE press = ? AND kind IN (?`+strings.Repeat(",?", len(kinds)-1)+`) ORDER BY time DESC, n DESC LIMIT 1`, args...)
	return e, found, explain(s.path, "read events of press "+pressName, err)
}
