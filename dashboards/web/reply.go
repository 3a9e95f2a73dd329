package web

import (
	"context"
	_ "embed"
	"html/template"
	"net/http"

	"github.com/nightclamp/nightclamp/press"
)

// Replies takes the answers to alerts by the links in their messages. Its errors
// carry the code of a [press.Error].
type Replies interface {
	// Asked is what a link asks. It changes nothing.
	Asked(ctx context.Context, token string) (Question, error)
	// Reply acknowledges the alert that the link is about, and returns it as it is
	// then.
	Reply(ctx context.Context, token string) (Question, error)
}

// Question is an alert as whoever opens its link sees it, in their units and
// their clock's time.
type Question struct {
	Title string
	Text  string
	Since string
	State press.AlertState
	By    string // why it is acknowledged: by whom
}

// Open reports whether somebody still has to look after it.
func (q Question) Open() bool { return q.State == press.AlertRaised }

// Over reports whether its problem has ended.
func (q Question) Over() bool { return q.State == press.AlertCleared }

//go:embed reply.html
var replyPage string

//nolint:gochecknoglobals // parsed once, immutable
var replyTemplate = template.Must(template.New("reply").Parse(replyPage))

// replies are the pages behind the links. A GET never acknowledges: mail scanners
// and previews follow links. They need no login: the link is the right to answer
// this one alert, and to nothing else.
func (s *server) replies() []route {
	return []route{
		{"GET /answer/{token}", s.reply(s.Replies.Asked)},
		{"POST /answer/{token}", s.reply(func(ctx context.Context, token string) (Question, error) {
			q, err := s.Replies.Reply(ctx, token)
			if err == nil {
				s.Log.Info("alert acknowledged by the link in its message", "title", q.Title, "by", q.By)
			}
			return q, err
		})},
	}
}

func (s *server) reply(ask func(ctx context.Context, token string) (Question, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var shown struct {
			Question
			Trouble string
		}
		code := http.StatusOK
		var err error
		if shown.Question, err = ask(r.Context(), r.PathValue("token")); err != nil {
			code, shown.Trouble = press.Code(err), err.Error()
		}
		h := w.Header()
		h.Set("Content-Type", "text/html; charset=utf-8")
		h.Set("Cache-Control", "no-store")
		h.Set("X-Robots-Tag", "noindex, nofollow")
		w.WriteHeader(code)
		_ = replyTemplate.Execute(w, shown) // the client may be gone
	}
}
