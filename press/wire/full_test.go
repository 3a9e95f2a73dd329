//go:build full

package wire

import (
	"fmt"
	"net"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"github.com/nightclamp/nightclamp/press"
)

// node is one server of a cluster; it can be stopped and started again on the
// same ports and store.
type node struct {
	opts server.Options
	srv  *server.Server
}

func (n *node) start(t *testing.T) {
	t.Helper()
	opts := n.opts // NewServer keeps and changes what it is given
	srv, err := server.NewServer(&opts)
	if err != nil {
		t.Fatal(err)
	}
	srv.Start()
	if !srv.ReadyForConnections(10 * time.Second) {
		t.Fatalf("%s is not ready", n.opts.ServerName)
	}
	n.srv = srv
}

func (n *node) stop() {
	n.srv.Shutdown()
	n.srv.WaitForShutdown()
}

func freePorts(t *testing.T, n int) []int {
	t.Helper()
	ports, held := make([]int, n), make([]net.Listener, n)
	for i := range ports {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		held[i], ports[i] = l, l.Addr().(*net.TCPAddr).Port
	}
	for _, l := range held { // only now, so that no two are the same
		l.Close()
	}
	return ports
}

// cluster starts three servers with JetStream.
func cluster(t *testing.T) ([]*node, string) {
	t.Helper()
	const size = 3
	ports := freePorts(t, 2*size)
	var routes []*url.URL
	for i := range size {
		routes = append(routes, &url.URL{Scheme: "nats", Host: fmt.Sprintf("127.0.0.1:%d", ports[size+i])})
	}
	var nodes []*node
	var urls []string
	for i := range size {
		n := &node{opts: server.Options{
			ServerName: fmt.Sprintf("n%d", i), Host: "127.0.0.1", Port: ports[i], NoLog: true, NoSigs: true,
			JetStream: true, StoreDir: t.TempDir(), Routes: routes,
			Cluster: server.ClusterOpts{Name: "sheds", Host: "127.0.0.1", Port: ports[size+i]},
		}}
		n.start(t)
		t.Cleanup(func() { n.stop() })
		nodes = append(nodes, n)
		urls = append(urls, fmt.Sprintf("nats://127.0.0.1:%d", ports[i]))
	}
	return nodes, strings.Join(urls, ",")
}

// until asks again and again, without a fixed sleep, for at most a minute.
func until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	deadline := time.After(time.Minute)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !holds() {
		select {
		case <-deadline:
			t.Fatalf("never: %s", what)
		case <-tick.C:
		}
	}
}

func stored(t *testing.T, urls string) []string {
	t.Helper()
	nc, err := nats.Connect(urls)
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
	if info.Config.Replicas != 3 {
		t.Errorf("the stream has %d replicas on three servers", info.Config.Replicas)
	}
	var ids []string
	for seq := uint64(1); seq <= info.State.LastSeq; seq++ {
		m, err := stream.GetMsg(t.Context(), seq)
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, m.Header.Get("Nats-Msg-Id"))
	}
	return ids
}

// TestClusterStoppedInTheMiddle puts events while servers of a cluster, then
// all of them, are stopped and started again: each event is stored once, in order.
func TestClusterStoppedInTheMiddle(t *testing.T) {
	nodes, urls := cluster(t)
	l := link(t, Config{URL: urls})
	var want []string
	put := func(n int) {
		for range n {
			ev := testEvent(len(want), press.Settled)
			want = append(want, eventMessage(ev).ID)
			if err := l.Event(t.Context(), ev); err != nil {
				t.Fatal(err)
			}
		}
	}
	sent := func() bool { return l.Held() == 0 }
	put(20)
	until(t, "all stored on the whole cluster", sent)

	nodes[0].stop()
	put(20)
	until(t, "all stored with one server down", sent)

	for _, n := range nodes[1:] {
		n.stop()
	}
	until(t, "the loss of every server noticed", func() bool { return !l.Up() })
	put(20)
	for _, n := range nodes {
		n.start(t)
	}
	until(t, "what was held back is stored", sent)

	got := stored(t, urls)
	if len(got) != len(want) {
		t.Fatalf("%d messages stored, %d put", len(got), len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("message %d is %s, want %s", i, got[i], want[i])
		}
	}
}
