//! The calibration sheet's drawing.
