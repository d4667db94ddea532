package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"drover/game"
	"drover/store"
)

// health says that the process answers.
func (s *Server) health(w http.ResponseWriter, _ *http.Request, _ game.Actor) error {
	_, err := w.Write([]byte("ok\n"))
	return err
}

// readyWithin is how soon the question whether this node is ready is answered.
const readyWithin = 900 * time.Millisecond

// ready says whether this node should get requests, and if not why, in one word;
// the log has the cause.
func (s *Server) ready(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	word := s.notReady(r.Context())
	if word == "" {
		word = "ready"
	} else {
		w.WriteHeader(http.StatusServiceUnavailable)
	}
	_, err := w.Write([]byte(word + "\n"))
	return err
}

func (s *Server) notReady(ctx context.Context) string {
	if s.sockets.draining() {
		return "draining"
	}
	ctx, cancel := context.WithTimeout(ctx, readyWithin)
	defer cancel()
	err := s.Store.Ready(ctx)
	if err == nil {
		return ""
	}
	s.Seldom("this node is not ready", "err", err)
	var why *store.NotReady
	if errors.As(err, &why) {
		return why.Word
	}
	return store.NoDatabase
}
