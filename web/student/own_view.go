package student

import (
	"fmt"

	"drover/game/club"
	"drover/web/view"
)

// paces are the choices of how soon he answers.
func (m OwnPage) paces() []view.Choice {
	now := m.Set.Pace
	if now == "" {
		now = club.ClubPace
	}
	var out []view.Choice
	for _, p := range []struct {
		of    club.Pace
		label string
	}{{club.QuickPace, "quick"}, {club.ClubPace, "as the club"}, {club.SlowerPace, "slower"}, {club.SlowPace, "slow"}} {
		out = append(out, view.Choice{Value: string(p.of), Label: p.label, Chosen: p.of == now})
	}
	return out
}

// paceSay says how long the two ends of the choice are.
func (m OwnPage) paceSay() string {
	return fmt.Sprintf("The club waits %s. Slow is %s.", m.Wait, seconds(club.SlowPace.Milliseconds()))
}

// schemes are the choices of light or dark.
func (m OwnPage) schemes() []view.Choice {
	now := m.Set.Scheme
	return []view.Choice{
		{Value: "device", Label: "as the device", Chosen: now == club.DeviceScheme},
		{Value: string(club.LightScheme), Label: "light", Chosen: now == club.LightScheme},
		{Value: string(club.DarkScheme), Label: "dark", Chosen: now == club.DarkScheme},
	}
}

// sample is the small board that shows how the signs look: his pen, what the rook and
// the king cover beside it, and his last move.
func sample(turned bool) view.Sketch {
	return view.Sketch{
		FEN: "8/7k/3K4/4R3/8/8/8/8 w - - 0 1", Last: "g7h7", Cut: true, Black: turned,
		Pen: []string{"h7", "g7", "f7", "f8", "g8", "h8", "f6", "g6", "h6"},
		Cover: []view.Cover{{Man: "king", Squares: []string{"e7", "e6", "e5"}},
			{Man: "rook", Squares: []string{"e6", "e7", "e8", "f5", "g5", "h5"}}},
	}
}

// samples are the sample from both sides, for who turns the board while looking at it.
func (m OwnPage) samples() [2]view.Sketch { return [2]view.Sketch{sample(false), sample(true)} }

// OwnSwitch is one thing that is on or off.
type OwnSwitch struct {
	Name, Label, Say string
	On               bool
}

func (m OwnPage) switches() []OwnSwitch {
	return []OwnSwitch{
		{"big", "Big signs on the board", "hurdles, tracks and cover thicker", m.Set.Big},
		{"turned", "Board turned", "your own men at the top", m.Set.Turned},
		{"sounds", "Sounds", "a tap, a check, the end", m.Set.Sounds},
	}
}
