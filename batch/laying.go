package batch

// How rows of crowns tell layings. A laying lasts while neck and carriage keep their places (see inspect/laying); the inspection's
// first is 1, and every row of a crown holds the one that it was taken in.
//
// A crown of a laying is the row of that laying that no row of the same laying replaces or takes back. A row that takes another one
// back holds that one's laying. So a crown that was measured again within its laying has its newest height, and a crown measured
// again in a later laying keeps its earlier height too:
//
// A link is a crown of a later laying at a point that has a crown in an earlier one and that laying.Links names of those. Its row
// replaces the earlier one (Supersedes) in the same round, and from then on it alone counts there. Other rows that replace one of an earlier laying
// (somebody chose the point, or its reading was in doubt) count for themselves and are no links.
//
// Where the links disagree, or carrying is not worth it, what stands of the earlier layings is withdrawn: for each row one with
// Withdrawn, Supersedes and a Reason.
