# ruff: noqa: E501 (one sentence per line reads best)
"""English words for a wall in several photos, and for a second known length."""

PHOTOS_ENGLISH: dict[str, str] = {
    "work.join": "Looking for studs that are in both photos",
    # --- several photos of one wall ---
    "photos.title": "Wall too long for one photo?",
    "photos.title_many": "Photos of this wall ({n})",
    "photos.how": "Take another photo of the same wall further along, so that at least three studs are in both. They are joined into one wall.",
    "photos.side": "Where does the new photo belong?",
    "photos.right": "Further right",
    "photos.left": "Further left",
    "photos.add": "Add a photo of this wall",
    "photos.choose": "Photo",
    "photos.one": "Photo {n}",
    "photos.joined": "One wall from {photos} photos: {length} long (± {pm}), {studs} studs, {shared} of them in more than one photo.",
    "photos.alone": "Until they are joined, the boards are for what photo {n} shows alone.",
    "photos.ask": "Which stud is in both?",
    "photos.stud_of": "Its number in photo {n}",
    "photos.stud": "Stud {n}, {place}",
    "photos.told": "Photos {left} and {right} are joined as you said.",
    "photos.found": "Photos {left} and {right} are joined by what is in both.",
    "photos.say": "Join them here",
    "photos.forget": "Take that back",
    "photos.wrong": "Not right? Say which stud is in both",
    "photos.take_away": "Take photo {n} away",
    "photos.first": "Photo {n} is the wall’s own; it can be exchanged under “Name, room, photo, remove”.",
    "photos.scale_from_other": "A length given in another photo of this wall gives the scale here too.",
    # --- a second known length ---
    "wall.second": "Second length: {length}.",
    "wall.second_agrees": "Second length: {length}. It agrees with the first.",
    "wall.second_marks": "Where do the marks of the second length lie?",
    "editor.second_length": "Check with a second length",
    "editor.second_back": "Back to the first length",
    "editor.second_tap": "Tap one end of another length you measured, best far from the first; hold to see it closer, slide slowly to set it finely.",
    "editor.second_how_long": "How long is this second one from mark to mark?",
}
