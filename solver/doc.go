// Package solver knows the exact value of every chess ending of up to four men,
// kings included. It has no files: a table is computed when it is first asked for.
//
// # Method
//
// The value of a position is found by retrograde analysis (K. Thompson,
// "Retrograde Analysis of Certain Endgames", ICCA Journal 9(3), 1986): start
// from the mates and walk backwards, layer by layer. Here a layer is not a
// list of positions but of words. For each placement of all men but the
// defending king, one 64-bit word has a bit for each square of that king, so
// that one operation settles up to 64 positions. The operations on words are the
// fills of bitboard move generators. For a placement P let
//
//	cover(P)  the squares that the attacker's men attack, looking through the
//	          defending king, own men included (they are guarded)
//	open(P)   squares that are neither covered nor occupied and from which the
//	          attacker, to move, is not known to win; and each unguarded man
//	          whose capture is not known to be won by the attacker
//	may(P)    squares on which the defender, to move, is not known to be lost,
//	          has a legal move or stands in check, and is not beside the king
//
// Then the defender, to move, is lost on
//
//	may(P) &^ dilate(open(P))
//
// where dilate gives the neighbours of a set; and the attacker, to move in P,
// wins on the part of open(P) that lies in lost(Q) for a move P -> Q. (A king
// on a square that the moving man crosses would have stood in check, so open
// bars it.) Only words that changed are pushed to their
// predecessors, and a layer is complete before the next begins, so the number
// of the layer is the distance in moves of the attacker. A capture that leads
// into an ending still won leaves open at the layer at which that is won.
//
// # A man of the defender
//
// A man of the defender stands in the placement like the attacker's men. Where
// it gives check, may holds only the squares between it and the attacked king.
// Its moves are further ways out: from P, the king's squares
//
//	open(Q) &^ between(from, to)
//
// for each placement Q that it can go to, as long as the king is not in its way.
// If it captures the attacker's last man, that is a way out for good. A changed open(Q)
// marks the placements from which the man can come to Q, and these alone are
// looked at again; as most of them have no square left after the king's own
// moves, the man's are seldom gone through to the end.
//
// Only wins of the attacker are solved. The wins of the other side are the table
// of the same men with colours exchanged.
//
// # Captures and promotions
//
// Captures and promotions lead into other endings, whose tables are built first. An attacker's move
// to a position lost there at layer n wins here at layer n+1; a defender's
// promotion loses here at the layer at which the last of the four men loses
// there. Taking in passing matters only between two pawns. An attacker's double
// step beside the defender's pawn wins nothing, as the capture leaves a lone
// king. A defender's double step beside the attacker's pawn is no way out from
// the layer at which the position is won or the capture wins. A position
// with the right to take in passing is looked up as the better of its value
// without the right and that of the capture.
//
// # Shut-out regions
//
// Let F be a set of squares. H(F) holds the positions from which the attacker
// can force mate so that the lone king never again stands on F, the present
// square included, and no man is taken. It is the same pass with F taken out
// of may for good and each capture left in open for good. The par of a
// position is the number of attacker's moves that force H(F); it is the same
// pass again, started from H(F) as won at layer 0. See [Tables.Held] and
// [Tables.Par].
//
// # Index
//
// Colours are exchanged so that the attacker is White, and the board is turned
// so that the attacker's king stands in the triangle a1-d1-d4 (ten squares), or
// with pawns on the files a to d (32 squares). A placement is king*slots + slot,
// where slot numbers the other men, 64 squares for each man and 48 for a pawn:
// 64 slots for one man, 64*64 for two unlike men, 64*63/2 for two like men of
// one side. Both placements that mirror each other are kept when the king stands
// on the diagonal. The byte of a position is at placement*64 + square of the
// defending king: 0 if the position is not won, else the layer plus one.
//
// Bytes: KBNK has 40,960 placements, so 2.6 MB for each side to move and each
// of distance and three pars: 21 MB; KBBK and KRRK half of that. KQKR has
// 5.2 MB for the queen's wins and as much for the rook's, KQKP 13 MB twice. All
// 43 tables take 292 MiB; [Tables] keeps 256 MiB of them unless told otherwise.
//
// # Proof
//
// The tests hold every table against the legal moves of a rules library, against
// slow solvers that are the specification (plain_test.go, general_test.go), and
// against published longest wins, distributions and positions.
package solver
