"""What to print beside any advice about a room where people look at beams, screens hang overhead and light is low."""

from __future__ import annotations

# Source: IEC 62471-5 (risk groups), IEC 60364 (wiring), EN 13501-1 and EN 13773 (fire tests), EN 1838 (escape
# lighting); the named standards are pointers, no compliance is judged here.
CAUTIONS = (
    "Beam: never look into the lens. Keep the beam above eye height and off walkways, mind children, and with an "
    "ultra-short throw anyone bending over it; keep the hazard distance its maker states (risk groups: IEC 62471-5).",
    "Overhead mass: fix screens and projectors to the structure, not to the lining, with a second restraint; motors "
    "add moving load. Rollers and tensioned cords store energy and pinch.",
    "Mains: fixed wiring, motor isolation and the separation of low voltage are an electrician's work (IEC 60364).",
    "Fire: ask for test reports of curtains, fabrics, panels and foam (EN 13501-1, EN 13773); keep dark cloth off hot lamps.",
    "Egress: keep a lit way out of a blacked-out room, steps marked, the door free of curtains; never darken an exit "
    "sign to win contrast (EN 1838).",
    "Follow local code and have licensed trades do or check such work. These figures are a model's estimates, no certificate.",
)
