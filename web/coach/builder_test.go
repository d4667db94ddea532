package coach

import (
	"slices"
	"testing"

	"drover/game/ending"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// TestMenOfEndings: each ending that can be chosen names its men for the board editor,
// the student's in White; without scripts there is no editor, and no button of it.
func TestMenOfEndings(t *testing.T) {
	t.Parallel()
	var m DrillNewPage
	chooseDrill(&m, drillForm{Ending: "KRK"})
	got := map[string]string{}
	for _, e := range append(m.Endings, m.Holds...) {
		got[e.Value] = e.Men
	}
	for value, men := range map[string]string{"KRK": "KRk", "KRRK": "KRRk", "KBNK": "KBNk", "KPK": "KPk", "hold-KPK": "Kkp",
		"hold-KRKN": "KNkr", "hold-KBPK": "Kkbp", "hold-KQKP": "KPkq"} {
		if got[value] != men {
			t.Errorf("%s: %q", value, got[value])
		}
	}
	if len(got) != len(ending.Taught())+len(ending.Holds()) {
		t.Errorf("%d endings", len(got))
	}
	for _, part := range viewtest.Elements(viewtest.Parsed(t, m.View()), "div") {
		if viewtest.Attr(part, "id") == "editor" && viewtest.Has(part, "hidden") {
			return
		}
	}
	t.Error("the editor is not there, or shows without scripts")
}

// left are the values of the choices that are offered, in their order, and the one that
// is chosen.
func left(choices []view.Choice) (values []string, chosen string) {
	for _, c := range choices {
		if !c.Off {
			values = append(values, c.Value)
		}
		if c.Chosen && c.Off {
			chosen += "off: "
		}
		if c.Chosen {
			chosen += c.Value
		}
	}
	return values, chosen
}

// TestOnlyWhatFitsIsOffered: of stages and kinds of start the page offers those of the
// chosen ending, in the plan's order, whatever the form had chosen before.
func TestOnlyWhatFitsIsOffered(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		f        drillForm
		from, to []string
		chosen   [2]string
		kinds    int
		kind     string
	}{
		{drillForm{Ending: "KBNK", From: "edge", To: "mate", Kind: "corner"}, viewtest.KnightStages(), viewtest.KnightStages()[1:],
			[2]string{"edge", "mate"}, 8, "corner"},
		{drillForm{Ending: "KRK", From: "corner", To: "corner", Kind: "corner"}, []string{"centralise", "edge", "mate"},
			[]string{"centralise", "edge", "mate"}, [2]string{"centralise", "mate"}, 6, "random"},
		{drillForm{Ending: "KBBK", From: "edge", To: "mate", Kind: "pasted"}, []string{"centralise", "edge", "corner"},
			[]string{"edge", "corner"}, [2]string{"edge", "corner"}, 6, "pasted"},
		{drillForm{Ending: "KPK", From: "mate", To: "mate", Kind: "trap"}, []string{"front", "escort"},
			[]string{"front", "escort", "mate"}, [2]string{"front", "mate"}, 6, "trap"},
		{drillForm{Ending: "KQK", From: "mate", To: "edge", Kind: "king"}, []string{"edge", "mate"}, []string{"mate"},
			[2]string{"mate", "mate"}, 6, "king"},
	} {
		var m DrillNewPage
		chooseDrill(&m, c.f)
		from, begin := left(m.From)
		to, end := left(m.To)
		kinds, kind := left(m.Kinds)
		if !slices.Equal(from, c.from) || !slices.Equal(to, c.to) || begin != c.chosen[0] || end != c.chosen[1] ||
			len(kinds) != c.kinds || kind != c.kind {
			t.Errorf("%+v: from %v (%s), to %v (%s), %v (%s)", c.f, from, begin, to, end, kinds, kind)
		}
		if c.f.fit(); c.f.From != c.chosen[0] || c.f.To != c.chosen[1] || c.f.Kind != c.kind {
			t.Errorf("the form is %+v", c.f)
		}
	}
	var m DrillNewPage
	chooseDrill(&m, drillForm{Ending: "hold-KPK", From: "edge", To: "mate", Kind: "trap"})
	if kinds, kind := left(m.Kinds); len(kinds) != 3 || kind != "random" || !m.Hold || m.Helps[1].Label != "2 His next step" {
		t.Errorf("a hold drill: %v (%s), %+v", kinds, kind, m.Helps)
	}
	for _, part := range viewtest.Elements(viewtest.Parsed(t, m.View()), "div") {
		if task := viewtest.Attr(part, "data-task"); task != "" && viewtest.Has(part, "hidden") != (task == "win") {
			t.Errorf("a hold drill draws a part of %q the other way round", task)
		}
	}
}
