//go:build full

package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

const curveDrawn = `document.querySelector("#curve canvas") && !document.getElementById("glue").hidden`

// From the press to the adhesives, to one of them and its curve.
func TestAdhesives(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, deck())
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	for _, s := range []screen{screens()[1], screens()[2]} {
		t.Run(s.name, func(t *testing.T) {
			b.use(t, s)
			b.do(t, chromedp.Navigate(url), until(isLive),
				chromedp.Evaluate[chromedp.Void](`document.querySelector("a[href='glues.html']").click()`), until(`document.querySelectorAll("#list li").length === 3`),
				chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("#list a")[1].click()`), until(curveDrawn))
			if title := textOf(t, b, "#glue-title"); title != "PVA wood glue, EN 204 D3" {
				t.Errorf("the adhesive is headed %q", title)
			}
			if rows := textOf(t, b, "#rows"); !strings.Contains(rows, "12 h to 24 h") {
				t.Errorf("the table says %q", rows)
			}
			if wide := eval[int64](t, b, `document.documentElement.scrollWidth`); wide > s.width {
				t.Errorf("the page is %d wide on a screen of %d", wide, s.width)
			}
			b.keep(t, "adhesive-"+s.name)
			b.clean(t)
		})
	}
}

// The settings in force are shown, and fit a phone.
func TestSettingsShown(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, deck())
	cfg.InForce = func() (web.InForce, error) {
		return web.InForce{Path: "/etc/nightclamp/nightclamp.toml", Text: "site = \"boatshed\"\n\n[http]\nlisten = \"127.0.0.1:9120\" # " + strings.Repeat("long ", 30) + "\n"}, nil
	}
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(isLive), chromedp.Evaluate[chromedp.Void](`document.getElementById("to-settings").click()`),
		until(`document.getElementById("text").textContent.includes("boatshed")`))
	if wide := eval[int64](t, b, `document.documentElement.scrollWidth`); wide > screens()[1].width {
		t.Errorf("the page is %d wide", wide)
	}
	b.keep(t, "settings-phone")
	b.clean(t)
}

// A run is started with a lay-up file, which goes to the daemon as it is.
func TestStartWithALayup(t *testing.T) {
	b := browser(t)
	idle := bare()
	idle.Press, idle.Time, idle.Sentence = "deck", night, "No run is on the press."
	cfg, control := acting(t, idle)
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	file := filepath.Join(t.TempDir(), "deck.toml")
	if err := os.WriteFile(file, layup.Example(), 0o600); err != nil {
		t.Fatal(err)
	}
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(isLive), button("Start a run"), chromedp.SetUploadFiles(`input[name="layup"]`, []string{file}))
	b.keep(t, "phone-start-layup")
	b.do(t, button("Start"), until(`document.getElementById("told").textContent.startsWith("The run has begun")`))
	if o := control.asked[0].(press.StartOrder); o.Layup != string(layup.Example()) {
		t.Errorf("the lay-up arrived as %q", o.Layup)
	}
	b.clean(t)
}
