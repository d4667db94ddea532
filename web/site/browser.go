package site

import "strings"

// Browser says in plain words which browser and system a request's header names.
func Browser(agent string) string {
	first := func(pairs ...[2]string) string {
		for _, p := range pairs {
			if strings.Contains(agent, p[0]) {
				return p[1]
			}
		}
		return ""
	}
	name := first([2]string{"Edg", "Edge"}, [2]string{"OPR/", "Opera"}, [2]string{"Firefox/", "Firefox"},
		[2]string{"FxiOS/", "Firefox"}, [2]string{"Chrome/", "Chrome"}, [2]string{"CriOS/", "Chrome"},
		[2]string{"Safari/", "Safari"})
	on := first([2]string{"iPhone", "an iPhone"}, [2]string{"iPad", "an iPad"}, [2]string{"Android", "Android"},
		[2]string{"Windows", "Windows"}, [2]string{"CrOS", "a Chromebook"}, [2]string{"Mac OS X", "a Mac"},
		[2]string{"Linux", "Linux"})
	switch {
	case name == "":
		return "Another browser"
	case on == "":
		return name
	}
	return name + " on " + on
}
