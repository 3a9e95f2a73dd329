//go:build full

package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// A blank is measured on the page, and compared with those before it.
func TestKeepAndCompare(t *testing.T) {
	b := browser(t)
	h, store := bench(t)
	for i := range 5 {
		path := "/api/v1/runs/deck-" + string(rune('1'+i)) + "/outcomes/day"
		if rec := (visit{method: "PUT", path: path, body: measure(0.0214 - 0.0001*float64(i)), from: local}).to(h); rec.Code != 200 {
			t.Fatalf("%d %s", rec.Code, rec.Body)
		}
	}
	url, _ := serve(t, h, "127.0.0.1:0")
	for _, s := range screens() {
		t.Run(s.name, func(t *testing.T) {
			b.use(t, s)
			b.do(t, chromedp.Navigate(url+"runs.html#deck-6"), until(`!document.getElementById("run-keeping").hidden`),
				chromedp.Evaluate[chromedp.Void](`document.getElementById("run-outcome").click()`), until(`!document.getElementById("form").hidden`))
			accessible(t, b, s.name+", what came out")
			b.keep(t, "outcome-"+s.name)
			b.do(t, chromedp.Evaluate[chromedp.Void](`(() => { const f = document.getElementById("form").elements;
				f["across.depth_m"].value = "21"; f["across.mould_depth_m"].value = "22.5"; f.weight_kg.value = "1.85"; f.delaminated.value = "no"; })()`),
				button("Write it down"), until(`document.getElementById("told").textContent === "Written down."`))
			if says := textOf(t, b, "#says"); !strings.Contains(says, "Springback across: 6.") {
				t.Errorf("it says %q", says)
			}
			accessible(t, b, s.name+", written down")
			b.do(t, chromedp.Navigate(url+"compare.html"), until(`document.querySelectorAll("#rows tr").length === 6`))
			if fits := textOf(t, b, "#fits"); !strings.Contains(fits, "nine cases of ten") {
				t.Errorf("it foretells %q", fits)
			}
			accessible(t, b, s.name+", side by side")
			if wide := eval[int64](t, b, `document.documentElement.scrollWidth`); wide > s.width {
				t.Errorf("the page is %d wide on a screen of %d", wide, s.width)
			}
			b.keep(t, "compare-"+s.name)
			b.clean(t)
		})
	}
	if o, err := store.Outcomes(t.Context(), "deck-6"); err != nil || len(o) != 1 || o[0].WeightKg != 1.85 {
		t.Errorf("%v, %+v", err, o)
	}
}
