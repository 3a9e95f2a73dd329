//go:build full

package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// The weather is told on the page, by keyboard alone, shown, and taken back.
func TestTellTheWeather(t *testing.T) {
	b := browser(t)
	cfg, control := acting(t, deck())
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(isLive), button("Tell the weather"), chromedp.SendKeys(`input[name="low_c"]`, "-2.5"))
	accessible(t, b, "weather")
	b.keep(t, "phone-weather")
	b.do(t, chromedp.SendKeys(`input[name="low_c"]`, "\r"), until(`document.getElementById("weather").textContent.includes("not below -2.5")`))
	if o := control.asked[0].(press.WeatherOrder); o.LowC != -2.5 || o.HighC.Known() || o.Forget || o.Press != "deck" {
		t.Errorf("asked %+v", o)
	}
	b.do(t, button("Tell the weather"), button("Forget what was told"), until(`document.getElementById("weather").textContent === ""`))
	if o := control.asked[1].(press.WeatherOrder); !o.Forget || o.LowC.Known() {
		t.Errorf("asked %+v", o)
	}
	b.clean(t)
}

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
