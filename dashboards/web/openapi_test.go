package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// api is the description as it is served, ready to check answers with.
type api struct {
	doc      map[string]any
	compiler *jsonschema.Compiler
}

func describedAPI(t *testing.T) api {
	t.Helper()
	body := get(t, web.New(config(newFake())), "/api/v1/openapi.json").Body.Bytes()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("openapi.json", doc); err != nil {
		t.Fatal(err)
	}
	return api{doc.(map[string]any), c}
}

// check holds a body to the schema that stands at the place in the description.
func (a api) check(t *testing.T, what string, body []byte, place ...string) {
	t.Helper()
	var pointer strings.Builder
	for _, p := range place {
		pointer.WriteString("/" + strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(p))
	}
	schema, err := a.compiler.Compile("openapi.json#" + pointer.String())
	if err != nil {
		t.Fatalf("%s: no schema at %s: %v", what, pointer.String(), err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		t.Fatalf("%s: %v in %.200s", what, err, body)
	}
	if err := schema.Validate(value); err != nil {
		t.Errorf("%s is not as openapi.json describes it; describe what is new there: %v", what, err)
	}
}

// The description is one: it holds to the schema that the OpenAPI Initiative
// publishes for version 3.1.
func TestDescriptionIsOpenAPI(t *testing.T) {
	a := describedAPI(t)
	f, err := os.Open("testdata/openapi/schema.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	meta, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("https://spec.openapis.org/oas/3.1/schema/published", meta); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("https://spec.openapis.org/oas/3.1/schema/published")
	if err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(any(a.doc)); err != nil {
		t.Error(err)
	}
}

// Each answer, good and bad, is as the description says. Fields that are not
// described are an error, so that none is added in silence.
func TestAnswersAreAsDescribed(t *testing.T) {
	a := describedAPI(t)
	src := newFake(deck(), bare())
	cfg := config(src)
	control := &hand{}
	cfg.Control, cfg.Records = control, shelf{src}
	cfg.Glues = shelfOfGlues
	cfg.InForce = func() (web.InForce, error) { return web.InForce{Path: "/x.toml", Text: "site = \"shed\"\n"}, nil }
	h := web.New(cfg)
	cfg.Board = func() []press.Alert {
		return []press.Alert{{
			ID: "board/delivery_failing/x", Name: "delivery_failing", Press: "board", Severity: press.Warn, State: press.AlertRaised,
			Text: "Alerts have not got out.", RaisedAt: night,
		}}
	}
	troubled := web.New(cfg)
	cfg.Access.Password = hash(t)
	locked := web.New(cfg)
	for _, c := range []struct {
		h            http.Handler
		method, path string // the described one
		at           string // the one that is asked
		body         string
		err          error
		code         int
	}{
		{h, "get", "/api/v1/status", "/api/v1/status", "", nil, 200},
		{troubled, "get", "/api/v1/status", "/api/v1/status", "", nil, 200},
		{locked, "get", "/api/v1/status", "/api/v1/status", "", nil, 401},
		{h, "get", "/api/v1/config", "/api/v1/config", "", nil, 200},
		{h, "get", "/api/v1/glues", "/api/v1/glues", "", nil, 200},
		{h, "get", "/api/v1/glues/{glue}", "/api/v1/glues/pva-d3", "", nil, 200},
		{h, "get", "/api/v1/glues/{glue}", "/api/v1/glues/prf", "", nil, 200},
		{h, "get", "/api/v1/glues/{glue}", "/api/v1/glues/none", "", nil, 404},
		{h, "get", "/api/v1/settings", "/api/v1/settings", "", nil, 200},
		{locked, "get", "/api/v1/settings", "/api/v1/settings", "", nil, 401},
		{h, "get", "/api/v1/session", "/api/v1/session", "", nil, 200},
		{locked, "get", "/api/v1/session", "/api/v1/session", "", nil, 200},
		{h, "post", "/api/v1/session", "/api/v1/session", `{"password":"x"}`, nil, 409},
		{locked, "post", "/api/v1/session", "/api/v1/session", `{"password":"x"}`, nil, 403},
		{h, "get", "/api/v1/presses/{press}/history", "/api/v1/presses/deck/history", "", nil, 200},
		{h, "get", "/api/v1/presses/{press}/history", "/api/v1/presses/deck/history?points=x", "", nil, 400},
		{h, "get", "/api/v1/presses/{press}/history", "/api/v1/presses/keel/history", "", nil, 404},
		{h, "get", "/api/v1/runs", "/api/v1/runs", "", nil, 200},
		{h, "get", "/api/v1/runs", "/api/v1/runs?limit=x", "", nil, 400},
		{h, "get", "/api/v1/runs/{run}", "/api/v1/runs/20261016T194000Z-deck", "", nil, 200},
		{h, "get", "/api/v1/runs/{run}", "/api/v1/runs/none", "", nil, 404},
		{h, "get", "/api/v1/runs/{run}/history", "/api/v1/runs/20261016T194000Z-deck/history", "", nil, 200},
		{h, "post", "/api/v1/presses/{press}/start", "/api/v1/presses/deck/start", `{"glue":"pva-d3","floor_pa":65000,"strained":true}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/release", "/api/v1/presses/deck/release", `{"text":"dry"}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/top-up", "/api/v1/presses/deck/top-up", `{}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/drop-test", "/api/v1/presses/deck/drop-test", `{"hold_s":86400,"floor_pa":65000,"within_s":3600,"empty":true}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/weather", "/api/v1/presses/deck/weather", `{"low_c":-2,"high_c":null}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/note", "/api/v1/presses/deck/note", `{"text":"x"}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/note", "/api/v1/presses/deck/note", `{"text":"x"}`, press.Errorf(press.WrongStage, "no"), 409},
		{h, "post", "/api/v1/presses/{press}/note", "/api/v1/presses/deck/note", `{"text":"x"}`, press.Errorf(press.Failed, "no"), 500},
		{h, "post", "/api/v1/presses/{press}/glue", "/api/v1/presses/deck/glue", `{"glue":"pva-d3"}`, nil, 200},
		{h, "post", "/api/v1/presses/{press}/acknowledge", "/api/v1/presses/deck/acknowledge", `{"alert":"a","snooze_s":60}`, nil, 200},
	} {
		control.err = c.err
		what := fmt.Sprintf("%s %s: %d", c.method, c.at, c.code)
		rec := visit{method: strings.ToUpper(c.method), path: c.at, body: c.body, from: local}.to(c.h)
		if rec.Code != c.code {
			t.Errorf("%s: got %d %s", what, rec.Code, rec.Body)
			continue
		}
		kind, _, _ := strings.Cut(rec.Header().Get("Content-Type"), ";")
		a.check(t, what, rec.Body.Bytes(), "paths", c.path, c.method, "responses", fmt.Sprint(c.code), "content", kind, "schema")
		if c.body != "" {
			a.check(t, what+", the order", []byte(c.body), "paths", c.path, c.method, "requestBody", "content", "application/json", "schema")
		}
	}
}

// The fields of each order are those that the daemon takes, by name.
func TestOrdersAreDescribedWhole(t *testing.T) {
	a := describedAPI(t)
	for name, order := range map[string]any{
		"Start": press.StartOrder{Sheet: "x", Layup: "x", Plies: 1, AreaM2: 1, Notes: "x", Strained: new(bool), At: night},
		"Mark":  press.MarkOrder{Text: "x"}, "GlueOrder": press.GlueOrder{Sheet: "x"},
		"DropTestOrder": press.DropTestOrder{HoldS: 3600, FloorPa: press.Unknown(), WithinS: 60, Empty: true, Cancel: true},
		"DropTest":      press.DropTest{State: press.DropOver, Outcome: press.DropFails, Reason: "noise", Began: night, Ended: night, Sentence: "x"},
		"WeatherOrder":  press.WeatherOrder{LowC: -2, HighC: press.Unknown(), Forget: true},
		"Weather":       press.Weather{LowC: -2, HighC: press.Unknown(), Until: night},
		"Acknowledge":   press.AckOrder{Press: "x", By: "x", Snooze: 1},
		"Alert":         press.Alert{Severity: press.Wake, State: press.AlertRaised, RaisedAt: night, At: night},
	} {
		body, err := json.Marshal(order)
		if err != nil {
			t.Fatal(err)
		}
		a.check(t, name, body, "components", "schemas", name)
	}
}
