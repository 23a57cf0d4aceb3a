package cli

import "dropwalk/cmd/internal/reading"

// read shows a page that somebody reads at length.
func (a *app) read(markdown string) error {
	looks := reading.Looks(a.OutTTY, a.plain, a.env)
	return reading.Write(a.Out, markdown, reading.Options{Width: a.Width, Looks: looks})
}
