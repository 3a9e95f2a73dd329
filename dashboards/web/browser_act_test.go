//go:build full

package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// acting is a page on which orders are carried out, by a hand that changes the
// fake's statuses.
func acting(t *testing.T, statuses ...press.Status) (web.Config, *hand) {
	t.Helper()
	src := newFake(statuses...)
	control := &hand{src: src}
	cfg := config(src)
	cfg.Control = control
	cfg.Glues = shelfOfGlues
	return cfg, control
}

func button(words string) chromedp.Action[chromedp.Void] {
	find := `[...document.querySelectorAll("button")].find((b) => b.checkVisibility() && b.textContent === "` + words + `")`
	return chromedp.Steps(until(find), chromedp.Evaluate[chromedp.Void](find+`.scrollIntoView({block: "center"}), `+find+`.click()`))
}

func TestAcknowledge(t *testing.T) {
	b := browser(t)
	cfg, control := acting(t, deck())
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(isLive), button("I look after it"),
		until(`document.querySelector("#alert-list .wake .seen")`), until(`document.getElementById("told").textContent !== ""`))
	if o := control.asked[0].(press.AckOrder); o.Alert != "deck-margin_gone-1" || o.Press != "deck" || o.By != "local" {
		t.Errorf("asked %+v", o)
	}
	b.do(t, button("Quiet for 1 h"), until(`document.getElementById("told").textContent.startsWith("Quiet for an hour")`))
	if o := control.asked[1].(press.AckOrder); o.Alert != "deck-sensor_silent-1" || o.Snooze != 3600 {
		t.Errorf("asked %+v", o)
	}
	b.keep(t, "phone-dark-acknowledged")
	b.clean(t)
}

// The board's own trouble is shown with the press, and acknowledged as the board's.
func TestAcknowledgeTheBoardsTrouble(t *testing.T) {
	b := browser(t)
	cfg, control := acting(t, bare())
	cfg.Board = func() []press.Alert {
		return []press.Alert{{
			ID: "board/delivery_failing/x", Name: "delivery_failing", Press: "board", Severity: press.Warn, State: press.AlertRaised,
			Text: "Alerts have not got out by \"phone\" since 02:32.", RaisedAt: night,
		}}
	}
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	b.do(t, chromedp.Navigate(url), until(isLive), until(`document.getElementById("alert-list").textContent.includes("have not got out")`),
		button("I look after it"), until(`document.getElementById("told").textContent !== ""`))
	if o := control.asked[0].(press.AckOrder); o.Alert != "board/delivery_failing/x" || o.Press != "board" {
		t.Errorf("asked %+v", o)
	}
	b.clean(t)
}

func TestStartAndRelease(t *testing.T) {
	b := browser(t)
	idle := bare()
	idle.Press, idle.Time, idle.Sentence = "deck", night, "No run is on the press."
	cfg, control := acting(t, idle)
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[0])
	b.do(t, chromedp.Navigate(url), until(isLive), button("Start a run"), until(`document.querySelector("#dialog-start[open] option[value=uf-two-part]")`),
		chromedp.SetValue(chromedp.CSS("#dialog-start [name=work]"), "Birch sled deck"),
		chromedp.SetValue(chromedp.CSS("#dialog-start [name=floor_pa]"), "65"),
		chromedp.Evaluate[chromedp.Void](`document.getElementById("start-glue").value = "uf-two-part"; document.getElementById("start-glue").dispatchEvent(new Event("change"))`),
		until(`document.getElementById("start-cautions").textContent.includes("Gives off formaldehyde")`))
	b.keep(t, "phone-light-start")
	b.do(t, button("Start"), until(`!document.querySelector("dialog[open]")`), until(sentenceIs("Glue is being spread.")))
	o := control.asked[0].(press.StartOrder)
	if o.Press != "deck" || o.Work != "Birch sled deck" || o.Glue != "uf-two-part" || o.FloorPa != 65000 || o.Strained == nil || !*o.Strained {
		t.Errorf("asked %+v", o)
	}
	b.do(t, button("Open the bag"), until(`document.querySelector("#dialog-release[open]")`))
	if words := textOf(t, b, "#release-words"); !strings.Contains(words, "Only 50 %") || !strings.Contains(words, "opened early") {
		t.Errorf("before it is opened too early the page says %q", words)
	}
	if focus := eval[string](t, b, `document.activeElement.textContent`); focus != "Keep it closed" {
		t.Errorf("the focus is on %q", focus)
	}
	b.keep(t, "phone-light-release")
	b.do(t, button("Open it at 50 %"), until(sentenceIs("The bag was opened early.")))
	if _, ok := control.asked[1].(press.MarkOrder); !ok {
		t.Errorf("asked %+v", control.asked[1])
	}
	// An order that is refused says why, in the dialog.
	control.err = press.Errorf(press.WrongStage, "a run is on deck already; release it first")
	b.do(t, button("Start a run"), button("Start"), until(`document.querySelector("#dialog-start [role=alert]").textContent.includes("release it first")`))
	b.keep(t, "phone-light-refused")
}

func TestLoginInTheBrowser(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, deck())
	cfg.Access.Password = hash(t)
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	login := func(with string) {
		b.do(t, chromedp.SetValue(chromedp.CSS("#password"), with), button("Log in"))
	}
	b.do(t, chromedp.Navigate(url), until(`document.getElementById("login-form").checkVisibility()`))
	if eval[bool](t, b, `document.getElementById("answer").checkVisibility()`) {
		t.Error("the answer is to be seen without login")
	}
	b.keep(t, "phone-dark-login")
	login("wrong")
	b.do(t, until(`document.getElementById("login-told").textContent === "That is not the password."`))
	login(password)
	b.do(t, until(isLive), until(sentenceIs("Leaking")), chromedp.Reload(), until(isLive)) // the session holds
	b.do(t, button("Log out"), until(`document.getElementById("login-form").checkVisibility()`))
}

func TestWall(t *testing.T) {
	b := browser(t)
	cfg, _ := acting(t, runners())
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screen{"wall", 1280, 800, false, true})
	b.do(t, chromedp.Navigate(url+"?wall"), until(isLive), until(painted+" > 8"))
	if eval[bool](t, b, `document.getElementById("acts").checkVisibility()`) {
		t.Error("the wall has buttons")
	}
	b.keep(t, "wall-dark")
	b.clean(t)
}
