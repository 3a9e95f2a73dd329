//go:build full

package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// A drop test is begun on the page, led through its steps, and stopped.
func TestDropTest(t *testing.T) {
	b := browser(t)
	cfg, control := acting(t, deck())
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	sentence := func(words string) string {
		return `document.getElementById("drop-sentence").textContent.includes("` + words + `")`
	}
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(isLive), button("Test the bag"))
	b.keep(t, "phone-drop-ask")
	b.do(t, chromedp.SendKeys(`input[name="hold_s"]`, "24"), button("Begin"), until(sentence("Shut the valve")))
	if o := control.asked[0].(press.DropTestOrder); o.HoldS != 86400 || o.Press != "deck" || o.Cancel {
		t.Errorf("asked %+v", o)
	}
	accessible(t, b, "drop test")
	b.do(t, button("The valve is shut"), until(sentence("Measuring")), until(`document.getElementById("drop-shut").hidden`))
	if figures := textOf(t, b, "#drop-figures"); !strings.Contains(figures, "leaks 0.15 to 0.9 kPa/h and may leak 0.85") || !strings.Contains(figures, "About 5 min more") {
		t.Errorf("the figures are %q", figures)
	}
	b.keep(t, "phone-drop-measuring")
	b.do(t, button("Stop the test"), until(sentence("stopped")), until(`document.getElementById("drop-acts").hidden`))
	if o := control.asked[2].(press.DropTestOrder); !o.Cancel {
		t.Errorf("asked %+v", o)
	}
	b.clean(t)
}
