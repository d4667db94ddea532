package site

import (
	"net/http"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/store"
)

// deviceCookie is the name of the cookie that says which persons have signed in in
// this browser before. It opens nothing.
func (s *Site) deviceCookie() string { return s.Cookie() + "-seen" }

// between stands between the tokens in that cookie; no token has it.
const between = "~"

// Devices are the tokens of that cookie.
func (s *Site) Devices(r *http.Request) []club.Secret {
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

// Remember gives a browser a token that says that a person has signed in there.
func (s *Site) Remember(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	tokens, err := s.Store.Remember(r.Context(), a, s.Devices(r))
	if err != nil {
		return err
	}
	texts := make([]string, len(tokens))
	for i, t := range tokens {
		texts[i] = string(t)
	}
	http.SetCookie(w, &http.Cookie{
		Name: s.deviceCookie(), Value: strings.Join(texts, between), Path: "/", MaxAge: int(store.DeviceFor.Seconds()),
		Secure: s.Secure, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	return nil
}
