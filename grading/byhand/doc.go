// Package byhand says what a lot may be whose grains were only counted by hand:
// the chances of its grades, and its shares by mass.
//
// # From counts to shares
//
// A lot holds shares by mass of chaff, stones and immature grains, and shares of
// its grains are red, bored or discoloured. Each share has the same prior as in the
// chances of a full check: a clean and a rough family of lots, or what was learnt
// of the season (chance.Usual). A share foretells a count by the weights of the
// pieces (Weights), and by how many of them a person sees. The count then says how
// likely each share is, and all of the counts together how likely each family.
//
// Counts scatter more than grains drawn at random would: bags differ, a handful
// from the top of a bag is not a spear through it, and weights of pieces and eyes
// differ from place to place. All of that is one relative deviation of the share
// that the count shows (see spread), so that one handful says much less than three.
//
// What no hand can count (other varieties, the husked yield, moisture) keeps its
// prior. Water is known only where a bitten grain or salt said that there is too
// much of it: that it said nothing never makes a lot dry.
//
// From these beliefs lots are drawn, always the same ones for the same counts, and
// each is graded as it is, and as it would be if its water met every limit.
package byhand
