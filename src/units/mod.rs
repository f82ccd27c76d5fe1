//! Lengths as people write them, to and from millimetres.
