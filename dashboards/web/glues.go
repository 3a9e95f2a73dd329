package web

import (
	"net/http"
)

// Glue is an adhesive that can be chosen.
type Glue struct {
	Name     string   `json:"name"` // what a start order takes
	Title    string   `json:"title"`
	Family   string   `json:"family"`
	Source   string   `json:"source"`
	MinUseC  float64  `json:"min_use_c"`
	Cautions []string `json:"cautions"`
}

func (s *server) glues(w http.ResponseWriter, r *http.Request) {
	all := []Glue{}
	if s.Glues != nil {
		all = append(all, s.Glues()...)
	}
	s.send(w, r, all)
}
