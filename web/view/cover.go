package view

import "fmt"

// Cover is the squares that one man covers.
type Cover struct {
	Man     string // king, queen, rook, bishop, knight
	Squares []string
}

// coverSigns are the signs of the men, in a box of 64 units, as help.js draws them.
var coverSigns = map[string]string{
	"queen": "M14 14L50 50M50 14L14 50", "rook": "M8 22H56M8 42H56",
	"bishop": "M12 50L26 14M26 50L40 14M40 50L54 14", "knight": "M14 42H48V20",
}

// coverSign is one sign on its square: a path, its class and where it stands.
type coverSign struct{ class, d, at string }

// covers are the signs on the squares that are covered: the king's wedges in the corners,
// under a man too, the others' where no man stands. Where two men meet the first is drawn.
func (s Sketch) covers() []coverSign {
	var out []coverSign
	taken := map[string]bool{}
	for _, m := range s.parse() {
		taken[fmt.Sprint(m.col, m.row)] = true
	}
	for _, c := range s.Cover {
		for _, square := range c.Squares {
			col, row, ok := s.at(square)
			here := fmt.Sprint(col, row)
			switch at := fmt.Sprintf("translate(%d %d)", col*64, row*64); {
			case !ok:
			case c.Man == "king":
				out = append(out, coverSign{"cover-king", wedges, at})
			case !taken[here]:
				taken[here] = true
				out = append(out, coverSign{"cover-sign " + c.Man, coverSigns[c.Man], at})
			}
		}
	}
	return out
}

// wedges are the king's sign: one in each corner of a square.
const wedges = "M4 4h14l-14 14zM60 4h-14l14 14zM4 60h14l-14 -14zM60 60h-14l14 -14z"
