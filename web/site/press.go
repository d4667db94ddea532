package site

import (
	"fmt"
	"strconv"

	"drover/game/club"
	"drover/web/view"

	"rsc.io/qr"
)

// Press is a card as it is printed.
func (s *Site) Press(card club.Card, of string) (view.PressCard, error) {
	code, err := Pattern(s.Link("/open#" + string(card.Token)))
	if err != nil {
		return view.PressCard{}, err
	}
	p := card.Student
	return view.PressCard{Club: of, Name: p.Name, Number: strconv.Itoa(p.Number), Man: string("KQRBNPkqrbnp"[p.Number%12]),
		Words: card.Words[:], QR: code, Address: s.Base.Host + "/in"}, nil
}

// Pattern makes the QR code (ISO/IEC 18004) of a text.
func Pattern(text string) ([][]bool, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return nil, fmt.Errorf("draw a pattern: %w", err)
	}
	rows := make([][]bool, code.Size)
	for y := range rows {
		rows[y] = make([]bool, code.Size)
		for x := range rows[y] {
			rows[y][x] = code.Black(x, y)
		}
	}
	return rows, nil
}
