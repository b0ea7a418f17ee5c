// Changes to the corrections document (the same form Python keeps on disk). Every function returns a
// new document; the marks on the screen are drawn from Python's view of it plus the change at hand.

function newMarkId() {
  // crypto.randomUUID is missing on plain http addresses of the local network
  const bytes = crypto.getRandomValues(new Uint8Array(9));
  return "mark-" + Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

function without(list, key) {
  return list.filter((m) => m.id !== key);
}

function withStudAt(doc, stud, line) {
  // a stud of the photo becomes the user's own, remembering whose place it takes
  const id = stud.yours ? stud.key : newMarkId();
  const studs = without(doc.studs, id);
  studs.push({ id, front_px: line, corrects_px: stud.corrects_px ?? null });
  return [{ ...doc, studs }, id];
}

function withoutStud(doc, stud) {
  const next = { ...doc, studs: without(doc.studs, stud.key) };
  if (stud.corrects_px) next.removed_px = [...doc.removed_px, stud.corrects_px];
  return next;
}

function withStudConfirmed(doc, stud) {
  return { ...doc, confirmed_px: [...doc.confirmed_px, stud.corrects_px] };
}

function withOpeningAt(doc, opening, corners, kind) {
  const id = opening.yours ? opening.key : newMarkId();
  const openings = without(doc.openings, id);
  openings.push({ id, kind, corners_px: corners, corrects_px: opening.corrects_px ?? null });
  return [{ ...doc, openings }, id];
}

function withoutOpening(doc, opening) {
  const next = { ...doc, openings: without(doc.openings, opening.key) };
  if (opening.corrects_px) next.removed_openings_px = [...doc.removed_openings_px, opening.corrects_px];
  return next;
}

function withTape(doc, from, to, text, slot = "reference", sigmas = {}) {
  // slot: the first known length ("reference") or the one that checks it ("second")
  // sigmas: how well a mark that was just set is placed, photo px
  const before = doc[slot] || {};
  const tape = { kind: "tape", length_in: null, length_text: text ?? before.length_text ?? "",
    stands_proud_in: before.stands_proud_in ?? 0, from_sigma_px: before.from_sigma_px ?? null,
    to_sigma_px: before.to_sigma_px ?? null, ...sigmas };
  return { ...doc, [slot]: { ...tape, from_px: from, to_px: to } };
}
