package site

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

// WayIn is what somebody signs in with.
type WayIn string

// The ways in.
const (
	ByCard  WayIn = "card"  // its number and words
	ByCoach WayIn = "coach" // an e-mail address and a password
	ByCode  WayIn = "code"  // a code of a second factor, after a coach's password
	ByLink  WayIn = "link"  // a card's pattern or a guardian's link

	ByMail WayIn = "mail" // a link to a new password, which is asked for with an address
)

// tooOften is the sentence for each way of signing in that was tried too often.
var tooOften = map[WayIn]string{
	ByCard:  "There have been many tries just now. Wait a little, look at your card again, then try once more.",
	ByCoach: "There have been many tries just now. Wait a little, look at the address and the password again, then try once more.",
	ByMail:  "A link was asked for many times just now. Wait a little, look into your mail, then try once more.",
	ByCode:  "There have been many tries just now. Wait a little, then type the code that your phone shows then.",
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

// Attempt runs a sign-in under the throttle. A browser in which this person has
// signed in before has a count of its own, as strict as any other: strangers
// can neither use up what it has left nor get ahead of it in the queue.
func (s *Site) Attempt(r *http.Request, by WayIn, what string,
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
func (s *Site) counts(r *http.Request, by WayIn, what string) (own counted, shared []counted, err error) {
	number, email := what, ""
	if by != ByCard {
		number, email = "", what
	}
	device, err := s.Store.Device(r.Context(), s.Devices(r), strings.TrimSpace(number), strings.TrimSpace(email))
	if err != nil {
		return own, nil, err
	}
	if device != nil {
		kind := "device"
		if by == ByCode { // which a right password, the step before it, must not clear
			kind = "device code"
		}
		if by == ByMail {
			kind = "device mail"
		}
		return counted{club.Lookup(kind, hex.EncodeToString(device)), strict}, nil, nil
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

// TurnedAway notes a sign-in that failed or was refused, and gives its error; other
// errors it gives as they are. Without the note there is no answer but that.
func (s *Site) TurnedAway(r *http.Request, by WayIn, what string, err error) error {
	action, often := "sign-in failed", by == ByLink // which no throttle slows down
	switch game.KindOf(err) {
	case game.Denied, game.Gone:
	case game.Busy:
		action, often = "sign-in refused", true
	default:
		return err
	}
	var tried store.Tried
	switch by {
	case ByCard:
		tried.Number = what
	case ByCoach, ByCode, ByMail:
		tried.Email = what
	case ByLink:
		tried.Token = club.Secret(what)
	}
	if away := s.Store.TurnedAway(r.Context(), action, string(by), tried, often); away != nil {
		return away
	}
	return err
}

// CoachIn finds a coach by address and password.
func (s *Site) CoachIn(r *http.Request, email, password string) (game.Actor, error) {
	return s.Attempt(r, ByCoach, email, func(ctx context.Context, q *game.Queue) (game.Actor, error) {
		return s.Store.OpenPassword(ctx, q, email, password)
	})
}

// Refusal is the sentence and status of a sign-in that is answered in its own
// page; refused is false for success and for failures of ours.
func Refusal(err error) (say string, status int, refused bool) {
	switch game.KindOf(err) {
	case game.Denied, game.Busy, game.Gone:
		return game.Saying(err), Statuses[game.KindOf(err)], true
	default:
		return "", 0, false
	}
}

// CodeIn holds a code of a second factor, or a recovery code, against the coach's own,
// under the throttle.
func (s *Site) CodeIn(r *http.Request, a game.Actor, email, code string) error {
	_, err := s.Attempt(r, ByCode, email, func(ctx context.Context, _ *game.Queue) (game.Actor, error) {
		return a, s.Store.UseCode(ctx, a, code)
	})
	return s.TurnedAway(r, ByCode, email, err)
}
