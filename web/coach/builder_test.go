package coach

import (
	"testing"

	"drover/game/ending"
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
