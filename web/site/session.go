package site

import (
	"fmt"
	"net/http"
	"net/url"

	"drover/game"
	"drover/game/club"
)

// Mark names a person to the pages that show what is theirs.
func Mark(a game.Actor) string { return fmt.Sprintf("%s %d", a.Role, a.Person) }

// Cookie is the session cookie's name; the prefix binds it to this host, which
// plain http does not allow.
func (s *Site) Cookie() string {
	if s.Secure {
		return "__Host-drover"
	}
	return "drover"
}

// Token is the secret of the session that a request belongs to; empty: none.
func (s *Site) Token(r *http.Request) club.Secret {
	c, err := r.Cookie(s.Cookie())
	if err != nil {
		return ""
	}
	return club.Secret(c.Value)
}

// FirstPage is where a role begins.
func FirstPage(role game.Role) string {
	switch role {
	case game.Coach:
		return "/since"
	case game.Student:
		return "/today"
	case game.Guardian:
		return "/report"
	case game.Welfare:
		return "/welfare"
	}
	return "/in"
}

// Emergency says whom to call where a child is in danger.
func Emergency(c club.Club) string {
	if c.Emergency == "" {
		return "Call the emergency number of your country."
	}
	return "Call " + c.Emergency + "."
}

// SignInFor is the address of the page for signing in, from which a page that was asked
// for is reached.
func SignInFor(back string) string {
	if back == "" || back == "/" {
		return "/in"
	}
	return "/in?back=" + url.QueryEscape(back)
}
