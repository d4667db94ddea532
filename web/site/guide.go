package site

import (
	"drover/store"
	"drover/web/view"
)

// GuidePath is the address of the guide to an ending.
func GuidePath(code string, hold bool) string {
	if hold {
		code = store.HoldMark + code
	}
	return "/guide/" + code
}

// GuideLink leads to the guide to an ending, in words.
func GuideLink(code string, hold bool) view.Link {
	return view.Link{Href: GuidePath(code, hold), Label: "How it is done"}
}
