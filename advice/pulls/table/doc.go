// Package table reads what a recorder wrote: a table of numbers as text, of
// whatever make. It finds out by itself how the text is coded, what parts the
// cells, where the head of the table stands and how time is written, then
// gives one row of numbers after the other. It knows nothing of cars.
//
// It reads a stream of any length in the memory of its buffer, and never goes
// back. What is no number where one has to be is a fault with its place; the
// cell then counts as empty.
package table
