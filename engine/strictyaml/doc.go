// Package strictyaml reads YAML and JSON that people write by hand and tells
// them everything that is wrong with it, each fault with its line and column
// and, where a slip is likely, the word that was probably meant.
//
// It reads into a tree of Nodes (ParseYAML, ParseJSON), holds the tree against
// a Shape (Shape.Check), prints the Shape as a JSON Schema for editors
// (Shape.Schema) and writes trees (Write). It is stricter than YAML: no
// anchors, no tags, no second document, no key twice, no text that silently
// becomes a number or loses its end to a comment.
//
// It knows nothing of units, cars or procedures: a Custom shape hands a text to
// whoever does. Start with ParseYAML, then Shape.
package strictyaml
