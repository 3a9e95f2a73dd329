package record

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Enqueue puts messages into the outbox. They are durable on return. A message
// whose key was ever enqueued before, sent or not, is dropped.
func (s *Store) Enqueue(ctx context.Context, deliveries ...press.Delivery) error {
	return s.Commit(ctx, Batch{Deliveries: deliveries})
}

func enqueue(ctx context.Context, tx querier, d press.Delivery) error {
	if d.Key == "" {
		return fmt.Errorf("a delivery of alert %q without a key cannot be kept", d.AlertID)
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO delivery
		(key, alert, way, title, text, severity, created, due, attempts, error, state)
		VALUES (?,?,?,?,?,?,?,?,?,?,'pending') ON CONFLICT (key) DO NOTHING`,
		d.Key, d.AlertID, d.Way, d.Title, d.Text, string(d.Severity), nanos(d.Created), nanos(d.DueAt), d.Attempts, d.Error)
	return err
}

// Due returns up to limit messages (all when 0) that wait to be sent and may be
// tried at now, in the order in which they were enqueued.
func (s *Store) Due(ctx context.Context, now time.Time, limit int) (due []press.Delivery, err error) {
	if limit <= 0 {
		limit = -1
	}
	err = each(ctx, s.read, func(row scanner) error {
		var d press.Delivery
		var severity string
		var created, dueAt sql.NullInt64
		err := row.Scan(&d.Key, &d.AlertID, &d.Way, &d.Title, &d.Text, &severity, &created, &dueAt, &d.Attempts, &d.Error)
		d.Severity = press.Severity(severity)
		d.Created, d.DueAt = fromNanos(created), fromNanos(dueAt)
		due = append(due, d)
		return err
	}, `SELECT key, alert, way, title, text, severity, created, due, attempts, error FROM delivery
		WHERE state = 'pending' AND (due IS NULL OR due <= ?) ORDER BY n LIMIT ?`, now.UnixNano(), limit)
	return due, explain(s.path, "read the outbox", err)
}

// Pending counts the messages that wait to be sent, due or not.
func (s *Store) Pending(ctx context.Context) (n int, err error) {
	err = s.read.QueryRowContext(ctx, `SELECT count(*) FROM delivery WHERE state = 'pending'`).Scan(&n)
	return n, explain(s.path, "count the outbox", err)
}

// Sent says that the message went out.
func (s *Store) Sent(ctx context.Context, key string) error {
	return s.settle(ctx, key, "sent", sql.NullInt64{}, "")
}

// Retry says that a try failed and when the next one may be made.
func (s *Store) Retry(ctx context.Context, key string, at time.Time, failure string) error {
	return s.settle(ctx, key, "pending", nanos(at), failure)
}

// GiveUp says that the message will never go out.
func (s *Store) GiveUp(ctx context.Context, key, failure string) error {
	return s.settle(ctx, key, "given up", sql.NullInt64{}, failure)
}

func (s *Store) settle(ctx context.Context, key, state string, due sql.NullInt64, failure string) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	result, err := s.write.ExecContext(ctx, `UPDATE delivery
		SET attempts = attempts + 1, state = ?, due = coalesce(?, due), error = ?
		WHERE key = ? AND state = 'pending'`, state, due, failure, key)
	if err != nil {
		return explain(s.path, "update the outbox", err)
	}
	changed, err := result.RowsAffected()
	if err == nil && changed == 0 {
		err = fmt.Errorf("delivery %q waiting to be sent: %w", key, ErrNotFound)
	}
	return err
}
