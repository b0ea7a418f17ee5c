# ruff: noqa: E501 (one sentence per line reads best)
"""Spanish words for a wall in several photos, and for a second known length."""

PHOTOS_SPANISH: dict[str, str] = {
    "work.join": "Buscando montantes que salen en ambas fotos",
    # --- several photos of one wall ---
    "photos.title": "¿La pared no cabe en una foto?",
    "photos.title_many": "Fotos de esta pared ({n})",
    "photos.how": "Tome otra foto de la misma pared más allá, de modo que al menos tres montantes salgan en ambas. Se unen en una sola pared.",
    "photos.side": "¿Dónde va la foto nueva?",
    "photos.right": "Más a la derecha",
    "photos.left": "Más a la izquierda",
    "photos.add": "Añadir una foto de esta pared",
    "photos.choose": "Foto",
    "photos.one": "Foto {n}",
    "photos.joined": "Una pared de {photos} fotos: {length} de largo (± {pm}), {studs} montantes, {shared} de ellos en más de una foto.",
    "photos.alone": "Mientras no se unan, las placas son para lo que muestra solo la foto {n}.",
    "photos.ask": "¿Qué montante sale en ambas?",
    "photos.stud_of": "Su número en la foto {n}",
    "photos.stud": "Montante {n}, {place}",
    "photos.told": "Las fotos {left} y {right} se unieron como usted dijo.",
    "photos.found": "Las fotos {left} y {right} se unieron por lo que sale en ambas.",
    "photos.say": "Unirlas aquí",
    "photos.forget": "Retirar eso",
    "photos.wrong": "¿No es así? Diga qué montante sale en ambas",
    "photos.take_away": "Quitar la foto {n}",
    "photos.first": "La foto {n} es la propia de la pared; se cambia en “Nombre, cuarto, foto, quitar”.",
    "photos.scale_from_other": "Una longitud dada en otra foto de esta pared da la escala también aquí.",
    # --- a second known length ---
    "wall.second": "Segunda longitud: {length}.",
    "wall.second_agrees": "Segunda longitud: {length}. Coincide con la primera.",
    "wall.second_marks": "¿Dónde quedan las marcas de la segunda longitud?",
    "editor.second_length": "Comprobar con otra longitud",
    "editor.second_back": "Volver a la primera longitud",
    "editor.second_tap": "Toque un extremo de otra longitud que midió, mejor lejos de la primera; mantenga el dedo para verlo de cerca y deslícelo despacio para afinar.",
    "editor.second_how_long": "¿Cuánto mide esta segunda de marca a marca?",
}
