package record

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/nightclamp/nightclamp/press"
)

// AlertFilter chooses among alerts. The zero value chooses all.
type AlertFilter struct {
	Press  string // empty: any
	Run    string // empty: any
	Active bool   // only alerts that are not cleared
}

// PutAlert keeps an alert, or its newest state. It is durable on return.
func (s *Store) PutAlert(ctx context.Context, alert press.Alert) error {
	return s.Commit(ctx, Batch{Alerts: []press.Alert{alert}})
}

func putAlert(ctx context.Context, tx querier, a press.Alert) error {
	if a.ID == "" {
		return errors.New("an alert without an ID cannot be kept")
	}
	body, err := json.Marshal(a)
	if err != nil {
		return fmt.Errorf("alert %s: %w", a.ID, err)
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO alert (id, press, run, active, body) VALUES (?,?,?,?,?)
		ON CONFLICT (id) DO UPDATE SET press=excluded.press, run=excluded.run, active=excluded.active, body=excluded.body`,
		a.ID, a.Press, a.Run, a.State != press.AlertCleared, string(body))
	return err
}

// Alerts returns the alerts that the filter chooses, in the order in which they
// were raised.
func (s *Store) Alerts(ctx context.Context, f AlertFilter) (alerts []press.Alert, err error) {
	err = each(ctx, s.read, func(row scanner) error {
		var body string
		if err := row.Scan(&body); err != nil {
			return err
		}
		var a press.Alert
		if err := json.Unmarshal([]byte(body), &a); err != nil {
			return fmt.Errorf("alert %s: %w", body, err)
		}
		alerts = append(alerts, a)
		return nil
	}, `SELECT body FROM alert WHERE (?1 = '' OR press = ?1) AND (?2 = '' OR run = ?2) AND (NOT ?3 OR active = 1)
		ORDER BY n`, f.Press, f.Run, f.Active)
	return alerts, explain(s.path, "read alerts", err)
}
