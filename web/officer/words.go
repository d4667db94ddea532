package officer

import (
	"fmt"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/store"
)

// whom names the person whom a row is about: a child by number, too.
func whom(n store.Noted) string {
	switch {
	case n.Subject == "":
		return ""
	case n.Role == game.Student:
		return fmt.Sprintf("%s, number %d", n.Subject, n.Number)
	}
	return n.Subject
}

// bare is whom, and a child by its number alone.
func bare(n store.Noted) string {
	if n.Role == game.Student {
		return fmt.Sprintf("number %d", n.Number)
	}
	return n.Subject
}

// does says what a row notes; about names the person whom it is about.
func does(n store.Noted, about string) string {
	return club.Deed(n.Action, n.ActorRole, about) + numbered(n)
}

// numbered is the number of the thing that a row is about, such as a game's.
func numbered(n store.Noted) string {
	for _, what := range []string{"game", "concern", "drill", "plan", "group", "export", "report"} {
		if no, ok := strings.CutPrefix(n.Detail, what+" "); ok {
			return " (" + what + " " + no + ")"
		}
	}
	return ""
}

// actor names who did it.
func actor(n store.Noted) string {
	switch {
	case n.Actor == "":
		return "somebody"
	case n.ActorRole == game.Student:
		return n.Actor + ", a child"
	case n.ActorRole == game.Guardian:
		return n.Actor + ", a guardian"
	}
	return n.Actor
}

// bareActor names a child or a guardian by that alone.
func bareActor(n store.Noted) string {
	switch {
	case n.Actor == "":
		return "somebody"
	case n.ActorRole == game.Student:
		return "a child"
	case n.ActorRole == game.Guardian:
		return "a guardian"
	}
	return n.Actor
}
