package report

// Search is what a search for a cause has come to. All but the title is Markdown
// already, made by whoever searched.
type Search struct {
	Title string // the symptom, as its procedure has it

	Head, Ranking, Moves, NotMade, Sources, Legend string
}

// searchPage is a search as its template sees it.
type searchPage struct {
	*page
	S        Search
	Customer bool
}

// Searched is the report on a search for a cause: the likeliest, what to do in
// which order, which answer moved what, what was not tested and what it rests on.
func Searched(s Search, o Options) string {
	return render("searched.md.tmpl", &searchPage{newPage(nil, nil, o), s, false})
}

// SearchedCustomer is the page for whose car it is: without what the chances rest
// on.
func SearchedCustomer(s Search, o Options) string {
	return render("searched.md.tmpl", &searchPage{newPage(nil, nil, o), s, true})
}

// SearchedHeadings are the headings of that report, in order.
func SearchedHeadings() []string { return headingsOf("searched.md.tmpl") }
