package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// lockedBuffer can be written by a command while a test reads it.
type lockedBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}

// freePort is a port of loopback that nobody listens on.
func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// shed is a config of one simulated press on ports of its own.
type shed struct {
	config, folder string
	http, nats     int
}

func newShed(t *testing.T, more string) shed {
	t.Helper()
	s := shed{folder: t.TempDir(), http: freePort(t), nats: freePort(t)}
	s.config = filepath.Join(s.folder, "nightclamp.toml")
	text := fmt.Sprintf(`site = "shed"
data = %q
[display]
timezone = "UTC"
[http]
listen = "127.0.0.1:%d"
[nats]
listen = "127.0.0.1:%d"
[defaults]
glue = "pva-d3"
%s
[[press]]
name = "bench"
interval = "50ms"
[[press.sensor]]
driver = "sim"
scenario = "plain"
`, filepath.Join(s.folder, "data"), s.http, s.nats, more)
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return s
}

// serve runs the daemon until the test ends, and returns its log. It has taken
// samples when serve returns.
func (s shed) serve(t *testing.T) *lockedBuffer {
	t.Helper()
	log := &lockedBuffer{}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan int, 1)
	go func() {
		ended <- execute(ctx, streams{strings.NewReader(""), log, log}, []string{"-c", s.config, "serve"})
	}()
	t.Cleanup(func() {
		cancel()
		select {
		case code := <-ended:
			if code != exitOK {
				t.Errorf("serve ended with %d: %s", code, log)
			}
		case <-time.After(20 * time.Second):
			t.Error("serve does not end")
		}
	})
	s.await(t, ended, log)
	return log
}

// await polls until the daemon has taken a sample.
func (s shed) await(t *testing.T, ended <-chan int, log fmt.Stringer) {
	t.Helper()
	deadline := time.After(20 * time.Second)
	for {
		if r := s.run(t, "status", "--json"); r.code == exitOK {
			var all []press.Status
			if err := json.Unmarshal([]byte(r.out), &all); err == nil && len(all) == 1 && all[0].Samples > 0 {
				return
			}
		}
		select {
		case code := <-ended:
			t.Fatalf("serve ended with %d: %s", code, log)
		case <-deadline:
			t.Fatalf("no sample: %s", log)
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func (s shed) run(t *testing.T, args ...string) result {
	t.Helper()
	return command(t, "", append([]string{"-c", s.config}, args...)...)
}

// TestServe gives a running daemon every order there is.
func TestServe(t *testing.T) {
	s := newShed(t, "")
	s.serve(t)
	for _, step := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"status"}, exitOK, "No run on this press"},
		{[]string{"note", "nothing there"}, exitFault, "no run on press bench"},
		{[]string{"release"}, exitFault, "nightclamp start"},
		{[]string{"start", "--work", "sled deck 4", "--plies", "9", "--area", "0.21"}, exitOK, "The stack must be under vacuum by"},
		{[]string{"start"}, exitFault, "already has run"},
		{[]string{"note", "cold", "hands"}, exitOK, "bench-"},
		{[]string{"top-up"}, exitOK, "bench-"},
		{[]string{"glue", "set", "pur-1c"}, exitOK, "bench-"},
		{[]string{"glue", "set", "pva-d33"}, exitFault, "pva-d3"},
		{[]string{"alert", "list"}, exitOK, "No alert"},
		{[]string{"alert", "ways"}, exitOK, "log"},
		{[]string{"alert", "test"}, exitOK, "took it"},
		{[]string{"status"}, exitOK, "sled deck 4"},
		{[]string{"release"}, exitOK, "Released early"},
		{[]string{"record", "list"}, exitOK, "sled deck 4"},
		{[]string{"record", "show"}, exitOK, "cold hands"},
		{[]string{"record", "show", "none"}, exitFault, "none"},
		{[]string{"status", "--press", "other"}, exitFault, "bench"},
		{[]string{"sensor", "read"}, exitOK, "101 kPa"},
	} {
		r := s.run(t, step.args...)
		if r.code != step.code || !strings.Contains(r.out+r.err, step.says) {
			t.Errorf("%v: exit %d, want %d saying %q:\n%s%s", step.args, r.code, step.code, step.says, r.out, r.err)
		}
	}
	out := filepath.Join(s.folder, "log")
	if r := s.run(t, "record", "export", "--out", out); r.code != exitOK || !strings.Contains(r.out, out) {
		t.Errorf("export: exit %d: %s%s", r.code, r.out, r.err)
	}
	for path, says := range map[string]string{
		"/": "<html", "/metrics": `nightclamp_vacuum_pascals{press="bench",site="shed"}`, "/api/v1/status": `"bench"`, "/healthz": "ok",
	} {
		// The release has put a fresh run on the press, which has yet to see a sample.
		body := ""
		for deadline := time.Now().Add(20 * time.Second); !strings.Contains(body, says) && time.Now().Before(deadline); {
			body = s.get(t, path)
		}
		if !strings.Contains(body, says) {
			t.Errorf("%s lacks %q: %.200s", path, says, body)
		}
	}
}

func (s shed) get(t *testing.T, path string) string {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, fmt.Sprintf("http://127.0.0.1:%d%s", s.http, path), nil)
	if err != nil {
		t.Fatal(err)
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s, %v", path, response.Status, err)
	}
	return string(body)
}

// TestServeBadSurroundings: each is an error that names the place and the remedy.
func TestServeBadSurroundings(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	port := fmt.Sprint(taken.Addr().(*net.TCPAddr).Port)
	for _, test := range []struct {
		name  string
		spoil func(s shed, text string) string
		says  []string
	}{
		{"HTTP port taken", func(s shed, text string) string {
			return strings.Replace(text, fmt.Sprintf("127.0.0.1:%d", s.http), "127.0.0.1:"+port, 1)
		}, []string{port, "http.listen"}},
		{"NATS port taken", func(s shed, text string) string {
			return strings.Replace(text, fmt.Sprintf("127.0.0.1:%d", s.nats), "127.0.0.1:"+port, 1)
		}, []string{port, "nats"}},
		{"data folder is a file", func(s shed, text string) string {
			return strings.Replace(text, filepath.Join(s.folder, "data"), s.config, 1)
		}, []string{"data", "nightclamp.toml"}},
		{"config typo", func(_ shed, text string) string {
			return strings.Replace(text, "interval", "intervall", 1)
		}, []string{"nightclamp.toml:", "intervall", `"interval"`}},
		{"impossible floor", func(_ shed, text string) string {
			return strings.Replace(text, "[defaults]", "[defaults]\nfloor = \"120kPa\"", 1)
		}, []string{"nightclamp.toml:", "floor", "120"}},
		{"driver that is not there", func(_ shed, text string) string {
			return strings.Replace(text, `"sim"`, `"simm"`, 1)
		}, []string{"nightclamp.toml:", "simm", `"sim"`}},
		{"no sensor", func(_ shed, text string) string { return text[:strings.Index(text, "[[press]]")] },
			[]string{"[[press.sensor]]", "nightclamp demo"}},
	} {
		s := newShed(t, "")
		text := readFile(t, s.config)
		if err := os.WriteFile(s.config, []byte(test.spoil(s, text)), 0o600); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		log := &lockedBuffer{}
		code := execute(ctx, streams{strings.NewReader(""), log, log}, []string{"-c", s.config, "serve"})
		cancel()
		if code == exitOK {
			t.Errorf("%s: serve ended well", test.name)
		}
		for _, word := range test.says {
			if !strings.Contains(log.String(), word) {
				t.Errorf("%s: nothing says %q: %s", test.name, word, log)
			}
		}
	}
}

// TestOneWriter: nobody else writes where a daemon keeps its record, by whatever
// port it could be asked.
func TestOneWriter(t *testing.T) {
	s := newShed(t, "")
	s.serve(t)
	second := newShed(t, "")
	text := strings.Replace(readFile(t, second.config), second.folder, s.folder, 1)
	if err := os.WriteFile(second.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"serve"}, {"record", "import", s.folder}, {"record", "restore", filepath.Join(s.folder, "data", "nightclamp.db")},
	} {
		r := second.run(t, args...)
		if r.code != exitFault || !strings.Contains(r.err, "another nightclamp writes the record there") || !strings.Contains(r.err, s.folder) {
			t.Errorf("%v: exit %d: %s", args, r.code, r.err)
		}
	}
	if r := second.run(t, "record", "list"); r.code != exitOK {
		t.Errorf("reading beside it: exit %d: %s", r.code, r.err)
	}
}

// TestServeDamagedRecord: a damaged file is set aside, and the watch goes on.
func TestServeDamagedRecord(t *testing.T) {
	s := newShed(t, "")
	data := filepath.Join(s.folder, "data")
	if err := os.MkdirAll(data, 0o750); err != nil {
		t.Fatal(err)
	}
	db := filepath.Join(data, "nightclamp.db")
	if err := os.WriteFile(db, bytes.Repeat([]byte("no database "), 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	log := s.serve(t)
	if !strings.Contains(log.String(), "set aside") {
		t.Errorf("nothing is said of the damaged record: %s", log)
	}
	if kept, err := filepath.Glob(db + ".corrupt-*"); err != nil || len(kept) == 0 {
		t.Errorf("the damaged file was not kept: %v %v", kept, err)
	}
}

func TestNoDaemon(t *testing.T) {
	s := newShed(t, "")
	r := s.run(t, "status")
	if r.code != exitFault || !strings.Contains(r.err, "nightclamp serve") {
		t.Errorf("exit %d: %s", r.code, r.err)
	}
}

// TestDemoOnce is the README's main job without servers.
func TestDemoOnce(t *testing.T) {
	out := t.TempDir()
	r := command(t, "", "demo", "--once", "--out", out)
	if r.code != exitOK {
		t.Fatalf("exit %d: %s", r.code, r.err)
	}
	for _, says := range []string{"Laying up", "Holding at", "Leaking", "Top up", "reached its press time", "Released. The whole press time"} {
		if !strings.Contains(strings.Join(strings.Fields(r.out), " "), says) {
			t.Errorf("the demo does not say %q:\n%s", says, r.out)
		}
	}
	for _, name := range []string{"record.md", "record.json", "samples.csv", "chart.svg"} {
		if found, err := filepath.Glob(filepath.Join(out, "*", name)); err != nil || len(found) != 1 {
			t.Errorf("%s: %v %v", name, found, err)
		}
	}
}

// TestRecordElsewhere backs a record up, takes a run in from an export, and puts
// the backup back.
func TestRecordElsewhere(t *testing.T) {
	s := newShed(t, "")
	if err := os.MkdirAll(filepath.Join(s.folder, "data"), 0o750); err != nil {
		t.Fatal(err)
	}
	series, out := filepath.Join(s.folder, "night.csv"), filepath.Join(s.folder, "out")
	if err := os.WriteFile(series, []byte(nightCSV(t, 10, rfc3339)), 0o600); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(s.folder, "backup.db")
	for _, step := range []struct {
		args []string
		says string
	}{
		{[]string{"record", "import", "--glue", "pva-d3", "--press", "sled", series}, "sled-2026"},
		{[]string{"record", "list"}, "pressed"},
		{[]string{"record", "export", "--all", "--out", out}, "sled-2026"},
		{[]string{"record", "export", "--zip", "--out", out}, ".zip"},
		{[]string{"record", "backup", backup}, "backup.db"},
		{[]string{"record", "restore", backup}, "kept as"},
		{[]string{"record", "list"}, "pressed"},
	} {
		if r := s.run(t, step.args...); r.code != exitOK || !strings.Contains(r.out, step.says) {
			t.Fatalf("%v: exit %d, want %q: %s%s", step.args, r.code, step.says, r.out, r.err)
		}
	}
	other := newShed(t, "")
	if err := os.MkdirAll(filepath.Join(other.folder, "data"), 0o750); err != nil {
		t.Fatal(err)
	}
	folders, err := filepath.Glob(filepath.Join(out, "sled-*T*Z"))
	if err != nil || len(folders) != 1 {
		t.Fatalf("exported folders: %v %v", folders, err)
	}
	if r := other.run(t, "record", "import", folders[0]); r.code != exitOK {
		t.Errorf("taking the export in: exit %d: %s", r.code, r.err)
	}
	if r := other.run(t, "record", "show"); !strings.Contains(r.out, "press time reached") {
		t.Errorf("the run taken in: %s%s", r.out, r.err)
	}
}

// TestPasswordForThePage: with one the page asks for it.
func TestPasswordForThePage(t *testing.T) {
	if r := command(t, "short\n", "password"); r.code != exitUsage {
		t.Errorf("a short password: exit %d, %q", r.code, r.out)
	}
	r := command(t, "birch and larch\n", "password")
	if r.code != exitOK {
		t.Fatalf("exit %d: %s", r.code, r.err)
	}
	s := newShed(t, "")
	hash := filepath.Join(s.folder, "page.hash")
	if err := os.WriteFile(hash, []byte(r.out), 0o600); err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(readFile(t, s.config), "[http]", fmt.Sprintf("[http]\npassword_file = %q", hash), 1)
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	s.serve(t)
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, fmt.Sprintf("http://127.0.0.1:%d/api/v1/status", s.http), nil)
	if err != nil {
		t.Fatal(err)
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusUnauthorized {
		t.Errorf("without the password the status answers %s", response.Status)
	}
}
