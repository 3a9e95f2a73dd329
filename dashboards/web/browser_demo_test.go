//go:build full

package web_test

import (
	"bufio"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// demo builds nightclamp, lets its demo run fast and returns the URL of its
// page.
func demo(t *testing.T) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "nightclamp")
	build := exec.CommandContext(t.Context(), "go", "build", "-o", binary, "../../cmd/nightclamp")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build nightclamp: %v\n%s", err, out)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cmd := exec.CommandContext(ctx, binary, "demo", "--speed", "1800")
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
	cmd.WaitDelay = 10 * time.Second
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cancel()
		_ = cmd.Wait() // ended by us
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if name, address, ok := strings.Cut(strings.TrimSpace(lines.Text()), " "); ok && name == "page" {
			go func() { // lest the pipe fills up
				for lines.Scan() {
				}
			}()
			return strings.TrimSpace(address) + "/"
		}
	}
	t.Fatalf("the demo did not say where its page is: %v", lines.Err())
	return ""
}

// A whole night of the real daemon, watched on a phone and on a desktop.
func TestWatchTheDemo(t *testing.T) {
	phone, desk := browser(t), browser(t)
	phone.use(t, screens()[1])
	desk.use(t, screens()[2])
	url := demo(t)
	for _, b := range []*tab{phone, desk} {
		b.do(t, chromedp.Navigate(url), until(isLive))
	}
	stage := func(words string) string { return `document.getElementById("stage").textContent === "` + words + `"` }
	for _, b := range []*tab{phone, desk} {
		b.do(t, until(stage("Hold")), until(painted+" > 8"), until(`document.getElementById("verdict").textContent === "Will not hold"`),
			until(`document.querySelector("#alert-list .wake")`))
	}
	phone.keep(t, "night-phone-leak")
	desk.keep(t, "night-desktop-leak")
	for _, b := range []*tab{phone, desk} {
		b.do(t, until(`document.getElementById("verdict").textContent === "Will hold"`), until(`document.getElementById("alerts").hidden`))
	}
	phone.keep(t, "night-phone-morning")
	phone.do(t, until(stage("Release")))
	phone.keep(t, "night-phone-released")
	for _, b := range []*tab{phone, desk} {
		b.clean(t)
	}
}
