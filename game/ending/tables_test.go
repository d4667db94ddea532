package ending_test

import (
	"reflect"
	"testing"

	"drover/game/ending"
)

// TestTablesCannotBeChanged: what the lists of plans, draws, defenders and kinds of
// start give may be written to, and the next who asks sees nothing of it.
func TestTablesCannotBeChanged(t *testing.T) {
	t.Parallel()
	lists := map[string]func() any{
		"plans":       func() any { return ending.Plans() },
		"taught":      func() any { return ending.Taught() },
		"holds":       func() any { return ending.Holds() },
		"defenders":   func() any { return ending.Defenders() },
		"start kinds": func() any { return ending.StartKinds() },
		"stages":      func() any { return ending.Stages() },
	}
	for name, list := range lists {
		want := names(list())
		spoil(reflect.ValueOf(list()))
		if got := names(list()); got != want {
			t.Errorf("%s were %s, and are %s", name, want, got)
		}
	}
	h, _ := ending.HoldOf("KPK")
	h.Name = "spoiled"
	if again, _ := ending.HoldOf("KPK"); again.Name == "spoiled" {
		t.Error("a draw that was found can be written to")
	}
}

// spoil writes over every text and every list that a list reaches.
func spoil(v reflect.Value) {
	switch v.Kind() {
	case reflect.Slice:
		for i := range v.Len() {
			spoil(v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			spoil(v.Field(i))
		}
	case reflect.String:
		if v.CanSet() {
			v.SetString("spoiled")
		}
	default:
	}
}

// names are all the texts of a list, in order.
func names(list any) string {
	var all string
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i))
			}
		case reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i))
			}
		case reflect.String:
			all += v.String() + "|"
		default:
		}
	}
	walk(reflect.ValueOf(list))
	return all
}
