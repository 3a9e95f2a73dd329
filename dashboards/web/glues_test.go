package web_test

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/dashboards/web"
)

// shelfOfGlues is what the page of the tests offers: built-in sheets, one of
// them under a name of the builder's own.
func shelfOfGlues() []web.Datasheet {
	var all []web.Datasheet
	for _, name := range []string{"uf-two-part", "pva-d3", "prf"} {
		s, _, err := datasheets.Load(name)
		if err != nil {
			panic(err) // the sheets are compiled in
		}
		all = append(all, web.Datasheet{Name: name, Own: name == "uf-two-part", Sheet: s})
	}
	return all
}

// An adhesive is told with its curve, and a temperature at which it cannot be
// used says so instead of drawing one.
func TestGlueDetail(t *testing.T) {
	cfg := config(newFake())
	cfg.Glues = shelfOfGlues
	h := web.New(cfg)
	var uf, prf web.GlueDetail
	for name, into := range map[string]*web.GlueDetail{"uf-two-part": &uf, "prf": &prf} {
		if err := json.Unmarshal(get(t, h, "/api/v1/glues/"+name).Body.Bytes(), into); err != nil {
			t.Fatal(err)
		}
	}
	if !uf.Glue.Own || len(uf.Curve) < 20 || len(uf.Rows) < 4 || len(uf.Trade) == 0 || len(uf.Explain) == 0 {
		t.Errorf("%+v", uf)
	}
	first, last := uf.Curve[0], uf.Curve[len(uf.Curve)-1]
	if first.Strained.Expected <= last.Strained.Expected || first.C != uf.Glue.MinUseC || last.C != uf.MaxUseC {
		t.Errorf("the curve goes from %+v to %+v", first, last)
	}
	// A light-aircraft construction manual of 2002 has 1 3/4 h at 20 °C, and at
	// least twice that for a joint that is strained soon after.
	for _, r := range uf.Rows {
		if r.C == 20 && (r.Flat != "1 h 45 min" || r.Strained != "3 h 30 min") {
			t.Errorf("at 20 °C: %+v", r)
		}
	}
	if len(prf.Curve) != len(uf.Curve) {
		t.Errorf("a sheet of few rows has %d points", len(prf.Curve))
	}
}

func TestSettingsAreForTheOwner(t *testing.T) {
	cfg := config(newFake())
	cfg.InForce = func() (web.InForce, error) { return web.InForce{Text: "site = \"shed\"\n"}, nil }
	cfg.Access = web.Access{Password: hash(t), Guest: "a-word-of-sixteen"}
	h := web.New(cfg)
	if rec := (visit{path: "/api/v1/settings"}).to(h); rec.Code != http.StatusUnauthorized {
		t.Errorf("nobody gets %d", rec.Code)
	}
	guest := (visit{path: "/?guest=a-word-of-sixteen"}).to(h).Result().Cookies()
	if len(guest) != 1 {
		t.Fatalf("the guest got %v", guest)
	}
	if rec := (visit{path: "/api/v1/settings", cookies: guest}).to(h); rec.Code != http.StatusForbidden {
		t.Errorf("a guest gets %d: %s", rec.Code, rec.Body)
	}
}
