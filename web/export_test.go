package web

import "net/http"

// FillSearches takes all places in which starts are searched and waited for; free
// gives them back.
func (s *Server) FillSearches() (free func()) { return s.coach.Searches.Fill() }

// Readings gives what the audit says of each route that is classified; empty where
// it shows an adult nothing of a child.
func Readings() map[string]string {
	out := map[string]string{}
	for name, r := range readings {
		out[name] = r.what
	}
	return out
}

// Noting is an answer that is noted before anything of it is sent.
func Noting(w http.ResponseWriter, note func() error) http.ResponseWriter {
	return &noting{ResponseWriter: w, note: note}
}
