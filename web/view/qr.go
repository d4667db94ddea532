package view

import (
	"fmt"
	"strings"
)

// isDark tells a dark man's letter, which is lower case as in a FEN.
func isDark(man string) bool { return man == strings.ToLower(man) }

// qrBox is the view box of a matrix with its quiet zone.
func qrBox(matrix [][]bool) string {
	n := len(matrix) + 8
	return fmt.Sprintf("-4 -4 %d %d", n, n)
}

// QRPath draws each run of dark modules of a row as one rectangle.
func QRPath(matrix [][]bool) string {
	var d strings.Builder
	for y, row := range matrix {
		for x := 0; x < len(row); x++ {
			run := 0
			for x+run < len(row) && row[x+run] {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&d, "M%d %dh%dv1h-%dz", x, y, run, run)
				x += run
			}
		}
	}
	return d.String()
}
