package site

import "drover/store"

// GuidePath is the address of the guide to an ending.
func GuidePath(code string, hold bool) string {
	if hold {
		code = store.HoldMark + code
	}
	return "/guide/" + code
}
