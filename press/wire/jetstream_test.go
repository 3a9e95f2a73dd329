package wire

import (
	"testing"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"github.com/nightclamp/nightclamp/press"
)

// TestSentTwiceIsStoredOnce: a message whose acknowledgement was lost is sent
// again; the stream knows it by its id.
func TestSentTwiceIsStoredOnce(t *testing.T) {
	l := link(t, Config{StoreDir: t.TempDir()})
	m := eventMessage(testEvent(0, press.VacuumLost))
	for range 2 {
		if err := l.Send(t.Context(), m); err != nil {
			t.Fatal(err)
		}
	}
	if n := messages(t, l.URL()); n != 1 {
		t.Errorf("%d stored", n)
	}
}

// TestSamplesAreNotStored: ten a second for months would fill the disk.
func TestSamplesAndOrdersAreNotStored(t *testing.T) {
	l, _ := serveBench(t, Config{StoreDir: t.TempDir()})
	if err := l.Send(t.Context(), eventMessage(testEvent(0, press.Settled))); err != nil {
		t.Fatal(err)
	}
	if err := l.Status(press.Status{Press: "deck"}); err != nil {
		t.Fatal(err)
	}
	if _, err := dial(t, Config{URL: l.URL()}).Version(t.Context()); err != nil {
		t.Fatal(err)
	}
	if n := messages(t, l.URL()); n != 1 {
		t.Errorf("%d stored, want the event alone", n)
	}
}

// TestAnotherStreamIsLeftAlone: an operator who made a stream for the site
// keeps his.
func TestAnotherStreamIsLeftAlone(t *testing.T) {
	server := link(t, Config{StoreDir: t.TempDir()})
	nc, err := nats.Connect(server.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	js, err := jetstream.New(nc)
	if err != nil {
		t.Fatal(err)
	}
	own, err := js.CreateStream(t.Context(), jetstream.StreamConfig{Name: "ALL", Subjects: []string{"nightclamp.>"}})
	if err != nil {
		t.Fatal(err)
	}
	if err := server.Send(t.Context(), eventMessage(testEvent(0, press.Settled))); err != nil {
		t.Fatal(err)
	}
	if _, err := js.Stream(t.Context(), StreamName); err == nil {
		t.Error("a second stream was made")
	}
	msg, err := own.GetLastMsgForSubject(t.Context(), "nightclamp.shed.deck.event.settled")
	if err != nil || msg == nil {
		t.Errorf("the operator's stream has no event: %v", err)
	}
}

func messages(t *testing.T, url string) uint64 {
	t.Helper()
	nc, err := nats.Connect(url)
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	js, err := jetstream.New(nc)
	if err != nil {
		t.Fatal(err)
	}
	stream, err := js.Stream(t.Context(), StreamName)
	if err != nil {
		t.Fatal(err)
	}
	info, err := stream.Info(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return info.State.Msgs
}
