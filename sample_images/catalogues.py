"""What may appear in a scene: one catalogue for each set of scenes.

The three have disjoint seeds. Tuning and validation share only the plainest things (bare concrete,
strand board, a ceiling bulb): whole woods, fills, sheets, clutter and lights occur in one of the
two alone. The wider one is for tuning too: things of its own and some of the plain tuning ones,
nothing that belongs to validation.
"""

from __future__ import annotations

from dataclasses import dataclass

Colour = tuple[float, float, float]


@dataclass(frozen=True)
class Catalogue:
    """Names are those :mod:`sample_images.build` knows.

    Shares are probabilities: of each kind of service; of no wall at an end of the photographed one;
    of a wall at its end that touches it rather than standing ``end_gap_in`` past it.
    """

    woods: tuple[tuple[Colour, float], ...]
    backs: tuple[tuple[str, Colour], ...]
    beyonds: tuple[str, ...]
    fills: tuple[tuple[str, Colour], ...]
    sheets: tuple[tuple[str, Colour], ...]
    clutter: tuple[str, ...]
    lights: tuple[str, ...]
    floors: tuple[tuple[str, Colour], ...]
    walls: tuple[tuple[str, Colour], ...]
    accents: tuple[Colour, ...]
    seed: int
    jitter_in: tuple[float, float] = (0.03, 0.16)
    crooked: tuple[float, float] = (0.4, 1.4)
    service_share: float = 0.18
    open_end_share: float = 0.2
    touching_share: float = 0.55
    end_gap_in: tuple[float, float] = (2.0, 60.0)


TUNING = Catalogue(
    woods=(
        ((226, 200, 152), 0.1),
        ((214, 178, 118), 0.25),
        ((150, 118, 84), 0.7),
        ((196, 178, 150), 0.9),
        ((232, 212, 172), 0.0),
    ),
    backs=(
        ("concrete", (150, 148, 142)),
        ("formed", (172, 170, 164)),
        ("flakes", (196, 154, 98)),
        ("planks", (140, 108, 78)),
    ),
    beyonds=("second_row", "room", "yard"),
    fills=(
        ("wool", (226, 130, 150)),
        ("wool", (214, 194, 92)),
        ("wool", (232, 226, 214)),
    ),
    sheets=(("kraft", (176, 140, 98)), ("clear", (225, 228, 230))),
    clutter=("bucket", "step_ladder", "loose_studs", "broom", "carton", "front_cable", "shelf"),
    lights=("bulbs", "window", "flash", "work_light_high"),
    floors=(("concrete", (138, 136, 132)), ("flakes", (190, 150, 100))),
    walls=(("plain", (214, 210, 200)), ("concrete", (150, 148, 144)), ("framed", (0, 0, 0))),
    accents=((200, 60, 40), (240, 190, 30), (40, 90, 170)),
    seed=71_000,
)

VALIDATION = Catalogue(
    woods=(
        ((206, 160, 118), 0.2),
        ((240, 220, 180), 0.15),
        ((178, 172, 116), 0.35),
        ((120, 96, 74), 0.6),
        ((218, 186, 134), 0.45),
    ),
    backs=(
        ("concrete", (132, 134, 134)),
        ("flakes", (178, 140, 92)),
        ("masonry", (168, 166, 160)),
        ("veneer", (206, 174, 128)),
        ("board_back", (156, 146, 132)),
    ),
    beyonds=("second_row", "hall", "street"),
    fills=(
        ("wool", (140, 132, 110)),
        ("wool", (176, 190, 204)),
        ("foam", (232, 218, 176)),
    ),
    sheets=(("grey_paper", (128, 126, 124)), ("milky", (232, 236, 238)), ("wrap", (236, 238, 240))),
    clutter=("sawhorse", "leaning_panel", "extension_ladder", "toolbox", "drum", "hose", "lumber"),
    lights=("bulbs", "tubes", "work_light_low", "mixed", "sun_patch"),
    floors=(("concrete", (158, 154, 146)), ("veneer", (186, 156, 112))),
    walls=(("plain", (196, 204, 206)), ("masonry", (150, 146, 138)), ("framed", (0, 0, 0))),
    accents=((60, 130, 70), (230, 120, 40), (90, 90, 96)),
    seed=940_000,
)

WIDER = Catalogue(
    woods=(
        ((240, 212, 158), 0.05),  # pale spruce
        ((222, 172, 142), 0.2),  # pinkish fir
        ((208, 190, 104), 0.35),  # yellowish, treated
        ((98, 80, 66), 0.85),  # dark, weathered
        ((164, 160, 152), 1.0),  # grey, weathered
        ((202, 166, 120), 1.4),  # every board another tone
    ),
    backs=(
        ("brick", (158, 86, 64)),
        ("foil", (204, 208, 212)),
        ("fibre", (88, 66, 48)),
        ("concrete", (182, 176, 164)),
        ("flakes", (212, 174, 114)),
        ("planks", (170, 156, 138)),
    ),
    beyonds=("second_row", "room", "yard"),
    fills=(
        ("wool", (238, 196, 120)),
        ("wool", (168, 120, 86)),
        ("rigid", (236, 152, 176)),
        ("rigid", (104, 164, 214)),
    ),
    sheets=(
        ("dark_paper", (52, 50, 50)),
        ("blue_film", (96, 140, 206)),
        ("clear", (214, 226, 220)),
        ("kraft", (146, 108, 70)),
    ),
    clutter=(
        "bucket",
        "carton",
        "broom",
        "step_ladder",
        "pallet",
        "pipe_lengths",
        "cloth",
        "barrow",
        "door_leaf",
    ),
    lights=("bulbs", "flash", "two_lamps", "skylight"),
    floors=(("concrete", (116, 114, 112)), ("flakes", (206, 170, 114)), ("planks", (128, 98, 68))),
    walls=(
        ("plain", (182, 190, 168)),
        ("brick", (172, 122, 98)),
        ("fibre", (98, 76, 58)),
        ("framed", (0, 0, 0)),
        ("framed", (0, 0, 0)),
    ),
    accents=((150, 40, 130), (20, 150, 150), (190, 210, 40)),
    seed=510_000,
    jitter_in=(0.05, 0.24),
    crooked=(0.6, 1.9),
    service_share=0.3,
    open_end_share=0.08,
    touching_share=0.45,
    end_gap_in=(1.0, 24.0),
)

CATALOGUES = {"tuning": TUNING, "validation": VALIDATION, "wider": WIDER}
