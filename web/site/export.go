package site

import (
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/store"
	"drover/web/view"
)

// ExportLine says how an export stands.
func ExportLine(e store.ExportRow, at func(time.Time) time.Time, now time.Time) view.ExportLine {
	line := view.ExportLine{ID: strconv.FormatInt(e.ID, 10)}
	until := at(e.Until())
	switch {
	case e.Failed:
		line.Say = "It could not be made. Please ask for it again."
	case e.Done == nil:
		line.Say = "It is being made. Look again in a moment."
	default:
		line.Ready = true
		line.Say = fmt.Sprintf("Ready, %s. It is kept until %s at %s.", size(e.Size), ShortDay(until, now), until.Format("15:04"))
	}
	return line
}

// size is a number of bytes for people.
func size(n int64) string {
	if n < 1<<20 {
		return fmt.Sprintf("%d KB", (n+1023)/1024)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/(1<<20))
}

// SendExport sends an export to the person who asked for it.
func (s *Site) SendExport(w http.ResponseWriter, r *http.Request, a game.Actor, id int64) error {
	return s.Store.FetchExport(r.Context(), a, id, func(e store.ExportRow) io.Writer {
		w.Header().Set("Content-Type", "application/zip")
		w.Header().Set("Content-Length", strconv.FormatInt(e.Size, 10))
		w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="drover-export-%d.zip"`, e.ID))
		return w
	})
}
