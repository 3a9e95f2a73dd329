package wire

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// ensure makes sure that a stream holds the site's events and alerts.
func (s *streamer) ensure(ctx context.Context, js jetstream.JetStream) error {
	for _, subject := range []string{
		subject(s.cfg.site(), "*", "event", "*"), subject(s.cfg.site(), "*", "alert", "*"),
	} {
		_, err := js.StreamNameBySubject(ctx, subject)
		if errors.Is(err, jetstream.ErrStreamNotFound) {
			return s.create(ctx, js)
		}
		if err != nil {
			return fmt.Errorf("nats: look for a stream on %s: %w", subject, err)
		}
	}
	return nil
}

// create makes the stream, on three servers where there are as many.
func (s *streamer) create(ctx context.Context, js jetstream.JetStream) error {
	cfg := jetstream.StreamConfig{
		Name:        StreamName,
		Description: "nightclamp: events and alerts of every press",
		Subjects:    []string{subject("*", "*", "event", "*"), subject("*", "*", "alert", "*")},
		Retention:   jetstream.LimitsPolicy,
		Discard:     jetstream.DiscardOld,
		MaxBytes:    64 << 20,
		MaxMsgSize:  64 << 10,
		MaxAge:      400 * 24 * time.Hour,
		Storage:     jetstream.FileStorage,
		Duplicates:  DedupWindow,
		Replicas:    1,
	}
	if s.nc.ConnectedClusterName() != "" {
		cfg.Replicas = 3
	}
	_, err := js.CreateStream(ctx, cfg)
	if cfg.Replicas > 1 && tooFewServers(err) {
		cfg.Replicas = 1
		_, err = js.CreateStream(ctx, cfg)
	}
	if err != nil && !errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) {
		return fmt.Errorf("nats: create stream %s for events and alerts (an operator can create it beforehand): %w", StreamName, err)
	}
	s.log.Info("nats stream created", "stream", StreamName, "replicas", cfg.Replicas)
	return nil
}

// tooFewServers reports whether the cluster cannot place that many replicas.
func tooFewServers(err error) bool {
	const noSuitablePeers, notClustered = 10005, 10074 // error codes of the JetStream API
	var api *jetstream.APIError
	return errors.As(err, &api) && (api.ErrorCode == noSuitablePeers || api.ErrorCode == notClustered)
}

func isJetStreamDenied(err error) bool {
	return errors.Is(err, nats.ErrPermissionViolation) && strings.Contains(err.Error(), "$JS.")
}
