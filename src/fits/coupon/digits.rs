//! Raised figures for coupons, on a grid of square pixels.
//!
//! No two pixels touch by a corner alone: such a corner would be an edge with four faces, which no solid has.

/// Rows of a figure, top first; each has three pixels, the leftmost in the highest bit.
const FIGURES: [[u8; 5]; 10] = [
    [0b111, 0b101, 0b101, 0b101, 0b111],
    [0b010, 0b010, 0b010, 0b010, 0b010],
    [0b111, 0b001, 0b111, 0b100, 0b111],
    [0b111, 0b001, 0b111, 0b001, 0b111],
    [0b101, 0b101, 0b111, 0b001, 0b001],
    [0b111, 0b100, 0b111, 0b001, 0b111],
    [0b111, 0b100, 0b111, 0b101, 0b111],
    [0b111, 0b001, 0b001, 0b001, 0b001],
    [0b111, 0b101, 0b111, 0b101, 0b111],
    [0b111, 0b101, 0b111, 0b001, 0b111],
];

/// Rows of pixels.
pub(super) const HEIGHT: usize = 5;

/// The pixels of a text of figures and points, as columns from the left; each column holds its rows from the bottom up.
pub(super) fn columns(text: &str) -> Vec<[bool; HEIGHT]> {
    let mut columns: Vec<[bool; HEIGHT]> = Vec::new();
    for c in text.chars() {
        if !columns.is_empty() {
            columns.push([false; HEIGHT]);
        }
        match c.to_digit(10).and_then(|d| FIGURES.get(d as usize)) {
            Some(rows) => {
                for bit in [2, 1, 0] {
                    let mut column = [false; HEIGHT];
                    for (slot, row) in column.iter_mut().zip(rows.iter().rev()) {
                        *slot = (row >> bit) & 1 == 1;
                    }
                    columns.push(column);
                }
            }
            None => columns.push([c == '.', false, false, false, false]),
        }
    }
    columns
}
