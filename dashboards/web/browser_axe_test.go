//go:build full

package web_test

import (
	_ "embed"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
)

//go:embed testdata/axe/axe.js
var axe string

// finding is what axe-core says is wrong with a page for those who do not see
// it, or do not point at it.
type finding struct {
	ID, Impact, Help string
	Nodes            []struct {
		HTML           string
		FailureSummary string
	}
}

// accessible fails the test for all that axe-core finds, whatever its impact.
// AAA contrast is asked for: the page is read in the dark, half asleep.
func accessible(t *testing.T, b *tab, where string) {
	t.Helper()
	b.do(t, chromedp.Evaluate[chromedp.Void](axe))
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]finding](`axe.run(document, {
		rules: {"color-contrast-enhanced": {enabled: true}, "target-size": {enabled: true}},
		resultTypes: ["violations"],
	}).then((r) => r.violations.map((v) => ({ID: v.id, Impact: v.impact, Help: v.help,
		Nodes: v.nodes.map((n) => ({HTML: n.html, FailureSummary: n.failureSummary}))})))`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		for _, n := range f.Nodes {
			t.Errorf("%s: %s (%s): %s\n%s\n%s", where, f.ID, f.Impact, f.Help, n.HTML, n.FailureSummary)
		}
	}
}

func TestAccessible(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, deck(), runners())
	cfg.Records = shelf{newFake(deck())}
	cfg.InForce = func() (web.InForce, error) { return web.InForce{Text: "site = \"shed\"\n"}, nil }
	url, stop := serve(t, web.New(cfg), "127.0.0.1:0")
	for _, s := range []screen{screens()[0], screens()[3]} { // both widths, both grounds
		b.use(t, s)
		b.do(t, chromedp.Navigate(url), until(isLive), until(painted+" > 8"))
		accessible(t, b, s.name)
		b.do(t, button("Open the bag"))
		accessible(t, b, s.name+", a dialog")
		b.do(t, chromedp.Navigate(url+"runs.html#20261014T174000Z-runners"), until(painted+" > 8"))
		accessible(t, b, s.name+", runs")
		b.do(t, chromedp.Navigate(url+"glues.html#pva-d3"), until(curveDrawn))
		accessible(t, b, s.name+", adhesives")
		b.do(t, chromedp.Navigate(url+"settings.html"), until(`!document.getElementById("settings").hidden`))
		accessible(t, b, s.name+", settings")
	}
	b.do(t, chromedp.Navigate(url), until(isLive))
	stop()
	b.do(t, until(`document.getElementById("stale").checkVisibility()`))
	accessible(t, b, "stale")
}

func TestLoginIsAccessible(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, deck())
	cfg.Access.Password = hash(t)
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(`document.getElementById("login-form").checkVisibility()`))
	accessible(t, b, "login")
}
