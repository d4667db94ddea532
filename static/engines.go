package static

import "strings"

// Engine is a browser engine and the oldest version in which every page works.
type Engine struct{ Name, From string }

// Engines lists the browser engines that the pages are made for. The tests of
// this package refuse scripts and styles that use something that one of them
// does not know.
func Engines() []Engine {
	return []Engine{{"Safari and iPadOS", "15.4"}, {"Chromium", "92"}, {"Firefox", "115"}}
}

// EngineWords lists the engines in words: "Safari and iPadOS 15.4 ...".
func EngineWords() string {
	var words []string
	for _, e := range Engines() {
		words = append(words, e.Name+" "+e.From)
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last] + ", and later ones"
}
