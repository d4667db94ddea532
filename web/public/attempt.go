package public

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
func (s Pages) attempt(r *http.Request, by wayIn, what string,
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
		err := s.Store.Attempt(ctx, k.key, k.by)
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
		if err := s.Store.Succeeded(ctx, k.key); err != nil {
			return a, err
		}
	}
	return a, s.Store.Forget(ctx, own.key)
}

// counts are the counts that an attempt falls under: its own, and those that it
// shares with others; a browser that knows its person shares none.
func (s Pages) counts(r *http.Request, by wayIn, what string) (own counted, shared []counted, err error) {
	number, email := what, ""
	if by == byCoach {
		number, email = "", what
	}
	device, err := s.Store.Device(r.Context(), s.devices(r), strings.TrimSpace(number), strings.TrimSpace(email))
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
