//go:build full

package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
)

// From the page to the list, to a run of the past and its chart.
func TestLookBack(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, deck())
	cfg.Records = shelf{newFake(deck())}
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	for _, s := range []screen{screens()[1], screens()[2]} {
		t.Run(s.name, func(t *testing.T) {
			b.use(t, s)
			b.do(t, chromedp.Navigate(url), until(isLive), until(painted+" > 8"),
				chromedp.Evaluate[chromedp.Void](`document.getElementById("to-runs").click()`), until(`document.querySelectorAll("#list li").length === 2`),
				chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("#list a")[1].click()`), until(painted+" > 8"),
				until(`document.querySelectorAll("#events li").length === 2`))
			if title := textOf(t, b, "#run-title"); title != "Two sled runners, ash: Pressed" {
				t.Errorf("the run is headed %q", title)
			}
			if events := textOf(t, b, "#events"); !strings.Contains(events, "Vacuum reached") {
				t.Errorf("the events are %q", events)
			}
			if wide := eval[int64](t, b, `document.documentElement.scrollWidth`); wide > s.width {
				t.Errorf("the page is %d wide on a screen of %d", wide, s.width)
			}
			b.keep(t, "runs-"+s.name)
			b.clean(t)
		})
	}
}
