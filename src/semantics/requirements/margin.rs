//! What a requirement is held against: the kinds of margin.

use crate::word::words;

words! {
    /// What a margin is about, in the order in which margins are told.
    pub enum MarginKind {
        /// Warmth against what the material bears without sagging.
        Heat = "heat",
        /// Knocks where the part gets cold against the brittle point.
        Cold = "cold",
        /// Years in the sun against the years the material lasts there.
        Sun = "sun",
        /// A substance against the material's rating for it.
        Contact = "contact",
        /// One load by itself.
        Load = "load",
        /// The load at which what is pressed gives way sideways, against the load.
        Buckling = "buckling",
        /// What presses on the part where it is held and where a load acts, against what it bears pressed.
        Bearing = "bearing",
        /// All loads that can act at once.
        LoadsTogether = "loads-together",
        /// A blow or a drop.
        Impact = "impact",
        /// How far it gives under load.
        Deflection = "deflection",
        /// The wall a pressure inside wants against the wall there is.
        Pressure = "pressure",
        /// The thinnest the mesh has against what is asked.
        Wall = "wall",
        /// The narrowest gap between walls of the part against what closes in print.
        Slit = "slit",
        /// The bed about the part and its brim.
        BedRoom = "bed-room",
        /// Length of a bore against what its mate needs.
        Depth = "depth",
        /// Material round a bore.
        Boss = "boss",
        /// Strain of a snap hook.
        Snap = "snap",
        /// Strain of a film that bends.
        LivingHinge = "living-hinge",
        /// Play of parts printed in one another.
        Gap = "gap",
        /// Hoop stress round a press fit.
        Press = "press",
        /// What is left of the hold of a press fit.
        Grip = "grip",
    }
}
