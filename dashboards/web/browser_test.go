//go:build full

package web_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
)

// tab is a page in a browser of its own.
type tab struct {
	*testing.T
	ctx context.Context

	mu         sync.Mutex
	complaints []string // what the browser finds wrong: console errors, exceptions, breaches of the policy
}

// browser starts Debian's chromium with a profile of its own and no traffic
// but the page's.
func browser(t *testing.T) *tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath("/usr/bin/chromium"),
		chromedp.UserDataDir(t.TempDir()),
		chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
	)
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, done := chromedp.NewContext(ctx)
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx) // waits until chromium is gone, so that its profile can go
		done()
	})
	b := &tab{T: t, ctx: ctx}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatalf("start chromium: %v; install Debian's package chromium", err)
	}
	limited, cancel := context.WithTimeout(ctx, 90*time.Second)
	t.Cleanup(cancel)
	b.ctx = limited
	return b
}

func (b *tab) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints, fmt.Sprintf("exception: %+v", *e.ExceptionDetails))
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			b.complaints = append(b.complaints, fmt.Sprintf("console: %s %s", e.Args[0].Value, e.Args[0].Description))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			b.complaints = append(b.complaints, "log: "+e.Entry.Text+" "+e.Entry.URL)
		}
	}
}

// clean fails the test for everything that the browser complained of.
func (b *tab) clean(t *testing.T) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, c := range b.complaints {
		t.Error(c)
	}
	b.complaints = nil
}

func (b *tab) do(t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// until waits for a JavaScript expression to be true, over reloads of the page
// as well.
func until(expression string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		ctx, cancel := context.WithTimeout(ctx, 60*time.Second)
		defer cancel()
		look := time.NewTicker(50 * time.Millisecond)
		defer look.Stop()
		for {
			is, err := chromedp.Evaluate[bool]("!!("+expression+")")(ctx, t)
			if is && err == nil {
				return nil
			}
			select {
			case <-ctx.Done():
				return fmt.Errorf("%s was not so in time: %w", expression, errors.Join(ctx.Err(), err))
			case <-look.C:
			}
		}
	})
}

func eval[T any](t *testing.T, b *tab, expression string) T {
	t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// screen is a device and its owner's taste.
type screen struct {
	name          string
	width, height int64
	phone, dark   bool
}

func screens() []screen {
	return []screen{
		{"phone-light", 390, 844, true, false},
		{"phone-dark", 390, 844, true, true},
		{"desktop-light", 1280, 800, false, false},
		{"desktop-dark", 1280, 800, false, true},
	}
}

func (b *tab) use(t *testing.T, s screen) {
	t.Helper()
	scheme, options := "light", []chromedp.EmulateViewportOption{}
	if s.dark {
		scheme = "dark"
	}
	if s.phone {
		options = append(options, chromedp.EmulateScale(2), chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	b.do(t, chromedp.EmulateViewport(s.width, s.height, options...))
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	if err != nil {
		t.Fatal(err)
	}
}

// keep writes two screenshots where the test run keeps its artefacts: what is
// seen first, and the whole page.
func (b *tab) keep(t *testing.T, name string) {
	t.Helper()
	dir := os.Getenv("NIGHTCLAMP_ARTEFACTS")
	if dir == "" {
		dir = t.TempDir()
	}
	for suffix, shot := range map[string]chromedp.Action[[]byte]{
		"-first": chromedp.CaptureScreenshot(), "": chromedp.FullScreenshot(100),
	} {
		png, err := chromedp.Run(b.ctx, shot)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+suffix+".png"), png, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// serve runs the handler on loopback until stop is called.
func serve(t *testing.T, h http.Handler, addr string) (url string, stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	l, err := net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	server := web.Server(ctx, h, discard())
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = server.Serve(l)
	}()
	var once sync.Once
	stop = func() {
		once.Do(func() {
			cancel()
			_ = server.Shutdown(context.Background())
			<-done
		})
	}
	t.Cleanup(stop)
	return "http://" + l.Addr().String() + "/", stop
}

// painted counts the colours that the chart's canvas holds.
const painted = `(() => {
	const canvas = document.querySelector("#picture canvas");
	if (!canvas || !canvas.width) return 0;
	const pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
	const seen = new Set();
	for (let i = 0; i < pixels.length; i += 4) if (pixels[i + 3]) seen.add(pixels[i] << 16 | pixels[i + 1] << 8 | pixels[i + 2]);
	return seen.size;
})()`

const isLive = `document.body.dataset.link === "live"`

func sentenceIs(start string) string {
	return `document.getElementById("sentence").textContent.startsWith("` + start + `")`
}

func textOf(t *testing.T, b *tab, selector string) string {
	t.Helper()
	return eval[string](t, b, `document.querySelector("`+selector+`").innerText`)
}

func TestPageOnEveryScreen(t *testing.T) {
	b := browser(t)
	url, _ := serve(t, web.New(config(newFake(deck(), runners()))), "127.0.0.1:0")
	for _, s := range screens() {
		t.Run(s.name, func(t *testing.T) {
			b.use(t, s)
			b.do(t, chromedp.Navigate(url), until(isLive), until(painted+" > 8"))
			if got := textOf(t, b, "#sentence"); got != deck().Sentence {
				t.Errorf("it says %q", got)
			}
			if got := textOf(t, b, "#verdict"); got != "Will not hold" {
				t.Errorf("the verdict is %q", got)
			}
			label := eval[string](t, b, `document.querySelector("#picture").getAttribute("aria-label")`)
			if !strings.Contains(label, "Vacuum 79 kPa, floor 65 kPa") || !strings.Contains(label, "Done at 09:50") {
				t.Errorf("the picture says %q", label)
			}
			if wide := eval[int64](t, b, `document.documentElement.scrollWidth`); wide > s.width {
				t.Errorf("the page is %d wide on a screen of %d", wide, s.width)
			}
			b.keep(t, s.name)
			b.clean(t)
		})
	}
}

// The other press is a tap away, and its sentence stands there at once.
func TestChoosePress(t *testing.T) {
	b := browser(t)
	url, _ := serve(t, web.New(config(newFake(deck(), runners()))), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(`document.querySelector("nav a[aria-current]")`))
	height := eval[float64](t, b, `Math.min(...[...document.querySelectorAll("nav a, button, summary, footer a")].filter((n) => n.checkVisibility()).map((n) => n.getBoundingClientRect().height))`)
	if height < 44 { // WCAG 2.2, success criterion 2.5.5
		t.Errorf("the smallest thing to touch is %v px high", height)
	}
	b.do(t, chromedp.Click(chromedp.CSS(`nav a:not([aria-current])`)), until(sentenceIs("Holding at 84 kPa")), until(painted+" > 8"))
	b.keep(t, "phone-dark-holding")
	b.clean(t)
}

// When the daemon stops the page says so above the sentence, and when it is
// back the page goes on by itself.
func TestLineLostAndRegained(t *testing.T) {
	b := browser(t)
	src := newFake(deck())
	h := web.New(config(src))
	url, stop := serve(t, h, "127.0.0.1:0")
	b.use(t, screens()[0])
	b.do(t, chromedp.Navigate(url), until(isLive))
	if eval[bool](t, b, `document.getElementById("stale").checkVisibility()`) {
		t.Error("a live page says that it is stale")
	}
	stop()
	b.do(t, until(`document.getElementById("stale").checkVisibility()`))
	if said := textOf(t, b, "#stale"); !strings.Contains(said, "No word from nightclamp for") {
		t.Errorf("it says %q", said)
	}
	if was := textOf(t, b, ".verdict"); !strings.Contains(was, "At 03:00 it was: Will not hold") {
		t.Errorf("the verdict is %q", was)
	}
	b.keep(t, "phone-light-lost")
	st := deck()
	st.Sentence, st.Samples = "Holding again.", st.Samples+1
	src.set(st)
	serve(t, h, strings.TrimSuffix(strings.TrimPrefix(url, "http://"), "/"))
	b.do(t, until(isLive), until(sentenceIs("Holding again.")))
	if eval[bool](t, b, `document.getElementById("stale").checkVisibility()`) {
		t.Error("the page is live again and says that it is stale")
	}
}

// Readings that are old while the daemon answers are called old.
func TestOldReading(t *testing.T) {
	b := browser(t)
	cfg := config(newFake(deck()))
	cfg.Now = func() time.Time { return night.Add(4 * time.Minute) }
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(`document.getElementById("stale").checkVisibility()`))
	if said := textOf(t, b, "#stale"); !strings.Contains(said, "The newest reading is 4 min old") {
		t.Errorf("it says %q", said)
	}
	b.keep(t, "phone-dark-old")
	b.clean(t)
}
