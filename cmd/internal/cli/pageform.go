package cli

import (
	"dropwalk/advice/picture"
	"dropwalk/advice/report"
	"dropwalk/cmd/internal/html"
	"dropwalk/cmd/internal/terminal"
)

// formed is a page of Markdown in the form that the ending of a file asks for;
// Markdown itself where it asks for none.
func formed(page, end string, o html.Options) ([]byte, error) {
	page = terminal.Clean(page)
	switch end {
	case endHTML:
		return html.Page(page, o)
	case endText:
		return []byte(terminal.Plain(page, reportWidth)), nil
	}
	return []byte(page), nil
}

// putPage writes a page of Markdown to the file out in the form that its ending asks
// for, or shows it where no file is named.
func (a *app) putPage(out, page string, o html.Options) error {
	if out == "" {
		return a.show(page)
	}
	text, err := formed(page, endOf(out), o)
	if err != nil {
		return err
	}
	return a.put(out, text)
}

// putJSON writes v as one line of JSON to the file out, or prints it where none is
// named.
func (a *app) putJSON(out string, v any) error {
	line, err := jsonLine(v)
	if err != nil {
		return err
	}
	return a.put(out, line)
}

// illustrated has images in the place of pictures that a page has drawn with
// characters.
func illustrated(pictures []picture.Picture) html.Options {
	images := map[string]string{}
	for _, p := range pictures {
		images[report.PictureBlock+p.Name] = picture.SVG(p, false)
	}
	return html.Options{Images: images, Style: picture.Style}
}

// drawn has the pictures of a page drawn for the file out or for the terminal, or told
// in words to who reads with the ears; on a page for a browser images take their place.
func (a *app) drawn(o report.Options, out string) report.Options {
	width := a.Width
	if out != "" {
		width = reportWidth
	}
	o.Pictures, o.Columns = report.Drawn, min(width, reportWidth)-codeIndent
	if a.spoken() && endOf(out) != endHTML {
		o.Pictures = report.Told
	}
	return o
}
