// Package carrier is a channel to a carrier, as a configuration describes it: where a
// request holds its fields, how the answer looks, who may send, how an outgoing message
// is handed over and how receipts are read.
//
// No carrier is named and none needs code. What a carrier sends is never trusted: sizes
// are bounded, a field that comes twice is refused, and every fault says which field
// was looked for and where.
package carrier
