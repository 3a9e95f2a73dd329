//go:build full && linux

package alert

import (
	"bufio"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// The test of a link that is down plays in two network namespaces with a cable
// between them: the board's, and that of the service its messages go to. The test
// starts itself anew in each.
const (
	netRole  = "NIGHTCLAMP_NET_ROLE"
	netBoard = "board"
	netSink  = "sink"
	sinkAt   = "10.77.0.2:8080"
)

// TestLinkDownForANight takes the link down under a dispatcher with a real record
// and a real webhook. What is raised and ends meanwhile is kept, through a restart
// of the daemon too, and is delivered when the link is back: in order within each
// alert, nothing lost, nothing twice.
func TestLinkDownForANight(t *testing.T) {
	switch os.Getenv(netRole) {
	case netBoard:
		boardBesideTheLink(t)
		return
	case netSink:
		sinkBehindTheLink(t)
		return
	}
	if _, err := exec.LookPath("ip"); err != nil {
		t.Skip("ip (iproute2) is not installed")
	}
	cmd := inNamespace(t.Context(), netBoard, syscall.CLONE_NEWUSER|syscall.CLONE_NEWNET)
	out, err := cmd.CombinedOutput()
	if err != nil && cmd.ProcessState == nil {
		t.Skipf("this kernel lets nobody make a network namespace here: %v", err)
	}
	t.Logf("%s", out)
	switch {
	case err != nil:
		t.Fatal(err)
	case strings.Contains(string(out), "--- SKIP"):
		t.Skip("no namespaces of its own; the reason is above")
	}
}

// inNamespace is this test again, in fresh namespaces.
func inNamespace(ctx context.Context, role string, flags uintptr) *exec.Cmd {
	cmd := exec.CommandContext(ctx, os.Args[0], "-test.run=^TestLinkDownForANight$", "-test.v", "-test.timeout=5m")
	cmd.Env = append(os.Environ(), netRole+"="+role)
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags: flags, Pdeathsig: syscall.SIGKILL,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
	}
	if flags&syscall.CLONE_NEWUSER == 0 {
		cmd.SysProcAttr.UidMappings, cmd.SysProcAttr.GidMappings = nil, nil
	}
	return cmd
}

// ip runs the system's ip; without the right to, the test is skipped.
func ip(t *testing.T, args ...string) {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), "ip", args...).CombinedOutput(); err != nil {
		if strings.Contains(string(out), "not permitted") || strings.Contains(string(out), "not supported") || strings.Contains(string(out), "Unknown device type") {
			t.Skipf("ip %s: %s", strings.Join(args, " "), out)
		}
		t.Fatalf("ip %s: %v: %s", strings.Join(args, " "), err, out)
	}
}

// sinkBehindTheLink is the service: it prints a line of JSON for each message.
func sinkBehindTheLink(t *testing.T) {
	in := bufio.NewReader(os.Stdin)
	if _, err := in.ReadString('\n'); err != nil { // the cable is there
		t.Fatal(err)
	}
	ip(t, "addr", "add", "10.77.0.2/24", "dev", "far")
	ip(t, "link", "set", "far", "up")
	l, err := net.Listen("tcp", sinkAt)
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	srv := &http.Server{ReadHeaderTimeout: time.Second, Handler: http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return // cut in the middle: it will come again
		}
		mu.Lock()
		defer mu.Unlock()
		fmt.Printf("got %s\n", body)
	})}
	fmt.Println("ready")
	go srv.Serve(l)
	_, _ = in.ReadString('\n') // until the board is done
	srv.Close()
}

// netStage is the board's side of the test.
type netStage struct {
	t     *testing.T
	path  string
	ways  Ways
	lines chan Message

	store *record.Store
	d     *Dispatcher
	stop  func()
}

func boardBesideTheLink(t *testing.T) {
	s := &netStage{t: t, path: filepath.Join(t.TempDir(), "n.db"), lines: make(chan Message, 1000)}
	finish := s.startSink()
	defer finish()
	secret := "whsec_" + base64.StdEncoding.EncodeToString(make([]byte, 32))
	var err error
	if s.ways, err = NewWays([]Way{{Name: "hook", URL: "webhook+http://" + secret + "@" + sinkAt + "/"}}, quiet()); err != nil {
		t.Fatal(err)
	}
	s.begin()
	var want []string
	want = append(want, s.raise("before", time.Now())...)
	s.awaitMessages(want, 20*time.Second)

	ip(t, "link", "set", "shed", "down")
	const alerts = 12
	for i := range alerts {
		want = append(want, s.raise(fmt.Sprintf("night%02d", i), time.Now().Add(time.Duration(i)*time.Millisecond))...)
		if i == alerts/2 {
			s.awaitFailing()
			s.stop() // the daemon is stopped in the night, and started again
			s.begin()
		}
	}
	s.awaitFailing()
	if n := len(s.lines); n != 0 {
		t.Fatalf("%d messages came through a link that is down", n)
	}
	ip(t, "link", "set", "shed", "up")
	began := time.Now()
	got := s.awaitMessages(want[2:], 3*time.Minute)
	s.stop()
	t.Logf("%d messages %.1f s after the link came back", len(got), time.Since(began).Seconds())
}

// startSink starts the service in a namespace of its own and lays the cable.
func (s *netStage) startSink() (finish func()) {
	cmd := inNamespace(s.t.Context(), netSink, syscall.CLONE_NEWNET)
	cmd.Stderr = os.Stderr
	in, err1 := cmd.StdinPipe()
	out, err2 := cmd.StdoutPipe()
	if err1 != nil || err2 != nil {
		s.t.Fatal(err1, err2)
	}
	if err := cmd.Start(); err != nil {
		s.t.Skipf("no namespace for the service: %v", err)
	}
	ip(s.t, "link", "add", "shed", "type", "veth", "peer", "name", "far")
	ip(s.t, "link", "set", "far", "netns", fmt.Sprint(cmd.Process.Pid))
	ip(s.t, "addr", "add", "10.77.0.1/24", "dev", "shed")
	ip(s.t, "link", "set", "shed", "up")
	fmt.Fprintln(in, "cable")
	lines := bufio.NewScanner(out)
	for lines.Scan() && lines.Text() != "ready" {
	}
	go func() {
		for lines.Scan() {
			if text, ok := strings.CutPrefix(lines.Text(), "got "); ok {
				var m Message
				if json.Unmarshal([]byte(text), &m) == nil {
					s.lines <- m
				}
			}
		}
	}()
	return func() {
		fmt.Fprintln(in, "done")
		_ = cmd.Wait()
	}
}

// begin opens the record and lets a dispatcher work on it.
func (s *netStage) begin() {
	store, err := record.Open(s.t.Context(), s.path, record.Options{})
	if err != nil {
		s.t.Fatal(err)
	}
	d := NewDispatcher(store, s.ways, quiet())
	ctx, cancel := context.WithCancel(s.t.Context())
	var wg sync.WaitGroup
	wg.Go(func() { _ = d.Run(ctx) })
	s.store, s.d = store, d
	s.stop = func() {
		cancel()
		wg.Wait()
		if err := store.Close(); err != nil {
			s.t.Error(err)
		}
	}
}

// raise lets an alert be raised and end, and returns the keys of its messages in
// the order in which they must come.
func (s *netStage) raise(name string, at time.Time) []string {
	at = at.UTC()
	a := press.Alert{
		Schema: press.Schema, ID: "deck/" + MarginGone + "/" + name, Name: MarginGone, Site: "shed", Press: "deck",
		Severity: press.Wake, State: press.AlertRaised, Text: name, RaisedAt: at, At: at,
	}
	over := a
	over.State, over.Reason, over.At = press.AlertCleared, string(press.MarginBack), at.Add(time.Hour)
	var keys []string
	for _, state := range []press.Alert{a, over} {
		list := slices.DeleteFunc(s.ways.Deliveries([]press.Alert{state}), func(d press.Delivery) bool { return d.Way == LogWay })
		if err := s.store.Commit(s.t.Context(), record.Batch{Alerts: []press.Alert{state}, Deliveries: list}); err != nil {
			s.t.Fatal(err)
		}
		for _, d := range list {
			keys = append(keys, d.Key)
		}
	}
	if len(keys) != 2 {
		s.t.Fatalf("%d messages for one alert", len(keys))
	}
	s.d.Wake()
	return keys
}

// awaitMessages takes messages until every key has come, and holds them to their
// order and to coming once.
func (s *netStage) awaitMessages(want []string, atMost time.Duration) []string {
	s.t.Helper()
	var got []string
	deadline := time.After(atMost)
	for len(got) < len(want) {
		select {
		case m := <-s.lines:
			if slices.Contains(got, m.Key) {
				s.t.Errorf("twice: %s", m.Key)
				continue
			}
			got = append(got, m.Key)
		case <-deadline:
			s.t.Fatalf("%d of %d messages came; the way says %+v", len(got), len(want), s.d.Health())
		}
	}
	for i := 0; i < len(want); i += 2 {
		raised, over := slices.Index(got, want[i]), slices.Index(got, want[i+1])
		if raised < 0 || over < raised {
			s.t.Errorf("%s came as number %d, and its end as %d", want[i], raised, over)
		}
	}
	return got
}

// awaitFailing waits until the dispatcher has noticed the link.
func (s *netStage) awaitFailing() {
	s.t.Helper()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(time.Minute)
	for {
		if h := s.d.Health(); !h[1].Failing.IsZero() && h[1].Waiting > 0 {
			return
		}
		select {
		case <-tick.C:
		case <-deadline:
			s.t.Fatalf("the link is down and the way says %+v", s.d.Health())
		}
	}
}
