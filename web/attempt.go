package web

import (
	"context"
	"encoding/hex"
	"net/http"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"

	"github.com/go-chi/chi/v5/middleware"
)

// wayIn is what somebody signs in with.
type wayIn string

const (
	byCard  wayIn = "card"  // its number and words
	byCoach wayIn = "coach" // an e-mail address and a password
)

// tooOften is the sentence for each way of signing in that was tried too often.
var tooOften = map[wayIn]string{
	byCard:  "There have been many tries just now. Wait a little, look at your card again, then try once more.",
	byCoach: "There have been many tries just now. Wait a little, look at the address and the password again, then try once more.",
}

// The throttles of a sign-in: strict for what is signed in with from one network, and
// looser for either alone, since a club shares a network.
var (
	strict    = store.Throttle{Scale: 1, Forget: time.Minute}
	ofWhat    = store.Throttle{Scale: 10, Forget: time.Minute}
	ofNetwork = store.Throttle{Scale: 40, Forget: 3 * time.Second}
)

// counted is one count of attempts.
type counted struct {
	key []byte
	by  store.Throttle
}

// attempt runs a sign-in under the throttle. A browser in which this person has
// signed in before has a count of its own, as strict as any other: strangers
// can neither use up what it has left nor get ahead of it in the queue.
func (s *Server) attempt(r *http.Request, by wayIn, what string,
	open func(context.Context, *game.Queue) (game.Actor, error)) (game.Actor, error) {
	ctx, queue := r.Context(), club.Strangers
	own, shared, err := s.counts(r, by, what)
	if err != nil {
		return game.Actor{}, err
	}
	if len(shared) == 0 {
		queue = club.Known
	}
	for _, k := range append([]counted{own}, shared...) {
		err := s.store.Attempt(ctx, k.key, k.by)
		if game.KindOf(err) == game.Busy {
			err = game.Wrap(game.Busy, tooOften[by], err)
		}
		if err != nil {
			return game.Actor{}, err
		}
	}
	a, err := open(ctx, queue)
	if err != nil {
		return a, err
	}
	for _, k := range shared {
		if err := s.store.Succeeded(ctx, k.key); err != nil {
			return a, err
		}
	}
	return a, s.store.Forget(ctx, own.key)
}

// counts are the counts that an attempt falls under: its own, and those that it
// shares with others; a browser that knows its person shares none.
func (s *Server) counts(r *http.Request, by wayIn, what string) (own counted, shared []counted, err error) {
	number, email := what, ""
	if by == byCoach {
		number, email = "", what
	}
	device, err := s.store.Device(r.Context(), s.devices(r), strings.TrimSpace(number), strings.TrimSpace(email))
	if err != nil {
		return own, nil, err
	}
	if device != nil {
		return counted{club.Lookup("device", hex.EncodeToString(device)), strict}, nil, nil
	}
	from := network(r)
	return counted{club.Lookup(string(by)+" from "+from, what), strict}, []counted{
		{club.Lookup(string(by), what), ofWhat}, {club.Lookup("network", from), ofNetwork},
	}, nil
}

// network is where a request comes from. Requests that cannot be told apart
// share one network.
func network(r *http.Request) string {
	addr := middleware.GetClientIPAddr(r.Context())
	if addr.Is6() { // one household or club has many addresses of one /64
		if p, err := addr.Prefix(64); err == nil {
			return p.String()
		}
	}
	return addr.String()
}

// deviceCookie is the name of the cookie that says which persons have signed in in
// this browser before. It opens nothing.
func (s *Server) deviceCookie() string { return s.cookie() + "-seen" }

// between stands between the tokens in that cookie; no token has it.
const between = "~"

func (s *Server) devices(r *http.Request) []club.Secret {
	c, err := r.Cookie(s.deviceCookie())
	if err != nil {
		return nil
	}
	var tokens []club.Secret
	for _, t := range strings.SplitN(c.Value, between, store.MostDevices+1) {
		tokens = append(tokens, club.Secret(t))
	}
	return tokens
}

// remember gives a browser a token that says that a person has signed in there.
func (s *Server) remember(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	tokens, err := s.store.Remember(r.Context(), a, s.devices(r))
	if err != nil {
		return err
	}
	texts := make([]string, len(tokens))
	for i, t := range tokens {
		texts[i] = string(t)
	}
	http.SetCookie(w, &http.Cookie{
		Name: s.deviceCookie(), Value: strings.Join(texts, between), Path: "/", MaxAge: int(store.DeviceFor.Seconds()),
		Secure: s.secure, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	return nil
}
