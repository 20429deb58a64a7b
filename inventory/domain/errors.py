"""The one error that the rules of the house raise, and the one published table of its codes.

Every refusal carries a code from `CODES`, a sentence for a person, and the offending values. The REST layer renders it as
RFC 9457 `application/problem+json`; the table below is printed in the docs and in the OpenAPI document, and a test compares them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Code:
    """What a code means: the HTTP status it is answered with and one plain sentence."""

    status: int
    title: str


#: code -> (HTTP status, sentence). Alphabetical. 400 malformed, 404 unknown, 409 lost race or same key with other content,
#: 412 stale version, 422 refused by a rule, 428 no If-Match where people edit.
CODES: Mapping[str, Code] = {
    "allocation-unreadable": Code(422, "A lot or a need of the allocation makes no sense; the value is named."),
    "alternative-unknown": Code(422, "The choice has no such alternative."),
    "always-new": Code(422, "A part that is always new cannot be used again."),
    "amount-negative": Code(422, "An amount below nothing."),
    "amount-not-positive": Code(422, "An amount above zero is needed."),
    "amount-too-large": Code(422, "The amount is larger than any shelf holds."),
    "back-already": Code(409, "It came back already."),
    "backdated-below-zero": Code(422, "An earlier act would leave less than nothing at a later moment."),
    "bad-request": Code(400, "The request is malformed."),
    "bay-unreadable": Code(422, "The temperature or the humidity of the bay makes no sense."),
    "bead-implausible": Code(
        422, "A bead is far shorter or longer than its joint is round; it stands once somebody says why."
    ),
    "bearing-impossible": Code(422, "No halves on the shelf give a journal its clearance; the journal is named."),
    "bearing-unreadable": Code(422, "A wall, journal or stock of the bearing choice makes no sense; it is named."),
    "bedded-to-another": Code(422, "It ran in with another part than the one that is there now."),
    "body-too-large": Code(413, "The body is larger than any request needs."),
    "bore-readings-short": Code(422, "A bore is read in two planes and two directions at least, each place once."),
    "cell-missing": Code(422, "A row lacks a cell that it needs."),
    "cell-unreadable": Code(422, "A cell can be no value of its column."),
    "certificate-known": Code(409, "A certificate of that number from that supplier is on record."),
    "check-digit-wrong": Code(422, "The check digit of what was scanned is wrong: it was misread."),
    "check-item-unknown": Code(422, "The engine family's list has no such item."),
    "checker-missing": Code(422, "A second person has to check."),
    "choice-not-candidate": Code(422, "What was chosen is none of the candidates."),
    "choice-open": Code(422, "What goes there is to be chosen first."),
    "choice-place-wrong": Code(422, "The choice is not made over that kind of place."),
    "choice-unknown": Code(422, "The engine family has no such choice."),
    "companion-missing": Code(422, "A part is listed without what it is used with, by the notice of its replacement."),
    "compound-unknown": Code(422, "No rule is known for that compound."),
    "condition-unreadable": Code(422, "The condition is not a finding, or all or any of several findings."),
    "corrected-already": Code(409, "The act was corrected already."),
    "counted-twice": Code(422, "One count names the same thing at the same spot twice."),
    "cover-impossible": Code(422, "Nothing at hand covers what is needed; the parts that are missing are named."),
    "cover-too-large": Code(422, "Too many kits and parts compete to find the cheapest cover."),
    "cover-unreadable": Code(422, "An offer, a need or a value of the cover makes no sense; it is named."),
    "cure-date-future": Code(422, "The cure date lies after the day on which it is read."),
    "cure-date-unreadable": Code(422, "The cure date is neither a quarter with its year nor a day."),
    "database-busy": Code(503, "The database did not answer in time; the same key may be sent again."),
    "dates-the-same": Code(409, "What was said to be put right is what is on record."),
    "dates-turned": Code(422, "One day lies before the day it must follow."),
    "density-missing": Code(422, "The part is listed by weight and has no density."),
    "deposit-tied": Code(409, "The deposit hangs on another old unit."),
    "done-already": Code(409, "It was done already."),
    "doubtful": Code(403, "What is doubtful by measurement is accepted only by somebody who may, with a reason."),
    "duty-unreadable": Code(422, "Who checks when cannot be read: weekdays by name, or standing in."),
    "engine-number-other-family": Code(422, "The engine number belongs to another engine family."),
    "engine-number-unreadable": Code(422, "The engine number is not a known prefix followed by digits."),
    "engine-range-unreadable": Code(422, "The range of engine numbers makes no sense."),
    "engine-ranges-overlap": Code(422, "Two ranges of engine numbers overlap for one place."),
    "engine-unknown": Code(422, "The engine is not on record."),
    "expired": Code(422, "Past its use-by on the day of fitting."),
    "extension-not-allowed": Code(422, "The shelf life cannot be extended."),
    "extension-unsigned": Code(422, "An extension needs a named inspector and a sample."),
    "extension-used": Code(422, "The shelf life was extended once already."),
    "family-unusable": Code(422, "The engine family cannot be used; every problem is named."),
    "fields-wrong": Code(400, "Fields of the body are missing, unknown or malformed; each is named."),
    "file-unusable": Code(422, "The file cannot be kept; what is wrong with it is said."),
    "fill-over-book": Code(422, "More than one and a half times the book fill: a person confirms it first."),
    "filled-early": Code(
        422, "The sealant has not cured long enough by its product sheet; filling now needs a signature."
    ),
    "finding-on-job": Code(409, "The finding is on the job already, at that place."),
    "finding-place-wrong": Code(422, "The finding cannot happen at that place."),
    "finding-unknown": Code(422, "The engine family has no such finding."),
    "fit-unknown": Code(422, "The size, grade or letter of a fit is not in the table."),
    "freed-already": Code(409, "The stop was lifted already."),
    "from-the-future": Code(422, "The act is said to have happened later than now."),
    "gasket-grade-none": Code(422, "The pistons stand higher than the thickest gasket allows."),
    "gate-missing": Code(422, "No gate is open for the joint: its questions come before the nozzle is cut."),
    "gate-shut": Code(422, "The nozzle is not cut yet: a question of the gate is answered no; each is named."),
    "gauge-known": Code(409, "A gauge of that number is on the register."),
    "gauge-unusable": Code(422, "The gauge record cannot be used; the value is named."),
    "gauge-withdrawn": Code(409, "The gauge was withdrawn."),
    "gauge-wrong": Code(422, "The gauge does not measure that."),
    "groove-unreadable": Code(422, "What is said of a groove makes no sense; the value is named."),
    "half-a-set": Code(422, "Half a set is never fitted or issued."),
    "handed-over-already": Code(409, "The engine was handed over to the customer already."),
    "heading-missing": Code(422, "The file lacks a column that is needed."),
    "heading-twice": Code(422, "Two columns of the file mean the same."),
    "height-not-read": Code(422, "A liner or its bore was not read at the points that are needed; they are named."),
    "heights-unusable": Code(422, "A limit or a reading of a liner's height makes no sense; the value is named."),
    "hold-ended": Code(409, "The hold was resolved already."),
    "hours-over-limit": Code(422, "More hours of extra work than the owner agreed to."),
    "import-booked": Code(409, "The table was booked already."),
    "import-open": Code(422, "Questions about rows of the table are open."),
    "import-remark": Code(422, "The row says more than a table can bring in."),
    "import-row-unknown": Code(422, "The table has no such row or column, or no such question."),
    "import-stale": Code(409, "What rows of the table speak of was booked otherwise since they were read."),
    "import-unread": Code(422, "Rows of the table were not read yet."),
    "inner-lot-differs": Code(409, "The bag says another lot than the record of the closed kit."),
    "inner-lot-missing": Code(422, "The lot on an inner bag is needed here."),
    "inspection-missing": Code(422, "A sample of the lot has to pass before it is released."),
    "item-ambiguous": Code(422, "Several things are there: say which of them."),
    "job-ended": Code(409, "The job is closed or cancelled."),
    "job-exists": Code(409, "A job of that number is booked already."),
    "job-not-closed": Code(422, "The job is not closed."),
    "job-not-done": Code(422, "The job has open lines."),
    "job-not-empty": Code(422, "Things of the shop are still with the job."),
    "joined-already": Code(409, "A record was joined with another already."),
    "joint-unknown": Code(422, "The engine family has no such sealed joint."),
    "key-missing": Code(400, "Every write needs an Idempotency-Key header: a UUID made by the caller."),
    "key-reused": Code(409, "The same key was used before with other content."),
    "kit-in-line": Code(422, "A parts line names leaf parts, never a kit."),
    "kit-incomplete": Code(422, "What is put into the kit is not what it holds; every difference is named."),
    "kit-loop": Code(422, "A kit would contain itself, directly or through another kit."),
    "kit-unusable": Code(422, "What the kit is said to hold cannot be used; the line is named."),
    "label-ambiguous": Code(422, "What was scanned can be read in more than one way; the ways are shown."),
    "label-differs": Code(409, "The set is on record with another label."),
    "label-unreadable": Code(422, "What was scanned is no label known here; what is wrong with it is said."),
    "label-window-unreadable": Code(422, "What a set's label may say cannot be read; it is named."),
    "layout-accepted": Code(409, "A layout of the job is accepted; it is taken back before another counts."),
    "layout-not-kept": Code(422, "The layout does not keep the limits; what breaks them is named."),
    "layout-stale": Code(422, "The accepted layout does not hold any more; the bench asks for a new one."),
    "layout-unusable": Code(422, "The layout cannot be worked out from what was given; the value is named."),
    "leak-test-missing": Code(422, "The liners are tested first: no passed leak test made since they went in stands."),
    "leftover-worth-wrong": Code(
        422, "What is left over is worth nothing if it is not needed, and no more than it costs loose."
    ),
    "life-rule-unreadable": Code(422, "The rule of shelf life cannot be read."),
    "limits-unreadable": Code(422, "Limits, or a value held against them, make no sense."),
    "line-done": Code(422, "Nothing of the order's line is still to come."),
    "list-empty": Code(422, "The list is empty."),
    "list-not-ready": Code(422, "A person has to decide first."),
    "loan-answered": Code(409, "The technician who was asked has answered already."),
    "loan-late": Code(409, "The time to answer has passed: the thing stays with its job."),
    "loan-not-agreed": Code(422, "The technician of the lending job has not agreed."),
    "loan-unusable": Code(422, "The job cannot use what would be lent to it; why is named."),
    "lot-differs": Code(409, "The lot is on record with another date of cure, of making or of use-by."),
    "lot-known": Code(409, "A lot of that code is on record; boxes that are made up here get one of their own."),
    "lot-missing": Code(422, "The part is traced by lot; no lot was given."),
    "lot-not-kept": Code(422, "The part is not traced by lot."),
    "lot-stopped": Code(422, "The lot or item is stopped."),
    "lot-unknown": Code(422, "The lot is not known: for the job at hand only."),
    "lubricant-unknown": Code(422, "The rubber guide does not speak of that lubricant."),
    "mark-differs": Code(422, "It would go back turned from how it stood."),
    "mark-not-cleaned": Code(422, "The set carries a bore mark of this job; it is cleaned off first."),
    "match-member-wrong": Code(422, "It cannot be that member of a set; why is named."),
    "match-refused": Code(422, "The readings do not make a set; the verdict is named."),
    "match-stale": Code(422, "A reading by which the set was matched does not count any more."),
    "may-not-check": Code(403, "That person may not check."),
    "may-not-take-over": Code(403, "That person may not take a cart over: who signs for it may fit."),
    "media-type": Code(415, "The body is sent as application/json."),
    "member-unknown": Code(422, "A matched set has no such member."),
    "meter-unknown": Code(422, "No meter, or no moment of reading one, has that name."),
    "method-not-allowed": Code(405, "The address does not take that method."),
    "missing-not-named": Code(422, "What a pick list asks for and is not with the cart has to be named as missing."),
    "mixed": Code(422, "Parts that may not be mixed stand together."),
    "money-unreadable": Code(422, "The text is not an amount of money."),
    "more-back-than-out": Code(422, "More came back than was counted out."),
    "more-out-than-listed": Code(422, "More was counted out than the block has."),
    "more-than-delivered": Code(422, "Less of it was delivered, or is left to be rejected."),
    "more-than-listed": Code(422, "The position takes less than that."),
    "more-than-outstanding": Code(422, "Less of it is outstanding."),
    "no-limit": Code(422, "The engine family's document has no limit for that."),
    "not-a-kit": Code(422, "Nothing is known of what it holds: it cannot be opened."),
    "not-a-set": Code(422, "It is not a matched set."),
    "not-acceptable": Code(406, "The answer cannot be given in the form asked for."),
    "not-allowed": Code(403, "The person may not do that."),
    "not-correctable": Code(422, "That act is not taken back by a correction; the error says what to do instead."),
    "not-extra-work": Code(422, "The finding is within the booked scope: no word of the owner limits its hours."),
    "not-first": Code(409, "There are people in this shop: one of them has to arrange it."),
    "not-for-engine": Code(422, "The part does not fit an engine of that number."),
    "not-for-kit": Code(422, "It is not packed into a closed kit; why is named."),
    "not-found": Code(404, "There is no such thing."),
    "not-free": Code(409, "That much is not free."),
    "not-in-kit": Code(422, "The part is not in the kit."),
    "not-inspected": Code(422, "A used part needs a good inspection before it goes back."),
    "not-lapsed": Code(422, "The hold has not lapsed."),
    "not-logged-in": Code(401, "Nobody is logged in, or the token or password is wrong."),
    "not-marked": Code(422, "The set carries no mark of this job."),
    "not-mended": Code(
        422, "The revision that is said to mend a line is not newer than those in which it was doubted."
    ),
    "not-on-duty": Code(422, "That person does not check at the site on that day."),
    "not-on-list": Code(422, "Nothing is listed for that position."),
    "not-on-loan": Code(422, "The job has not got that tool."),
    "not-out-of-engine": Code(422, "It did not come out of the engine on this job."),
    "not-picked": Code(422, "The line is not picked."),
    "not-reusable": Code(422, "By the limits on record it may not be used again."),
    "not-signed": Code(422, "A signature is needed."),
    "not-there": Code(409, "The place does not hold that much that is free."),
    "not-unused": Code(422, "It came out of the engine: it is not left over from the kit."),
    "not-whole": Code(422, "An opened tube is carried whole."),
    "not-withdrawn": Code(422, "No notice says that old stock of the number is withdrawn."),
    "nothing-changed": Code(422, "The change changes nothing."),
    "nothing-given": Code(422, "Nothing was given."),
    "nothing-there": Code(409, "Nothing stands there."),
    "nothing-to-accept": Code(422, "The result chooses nothing that the list of the job asks for."),
    "nothing-to-hold": Code(422, "Everything on the list is held, picked or fitted already."),
    "number-known": Code(409, "The number, apart from spaces, dashes, dots and case, is in the catalogue."),
    "old-unit-ended": Code(409, "The old unit was sent back already."),
    "old-unit-known": Code(409, "That thing is an old unit already."),
    "old-unit-tagged": Code(409, "An old unit wears, or wore, a tag with that text."),
    "operation-on-job": Code(409, "The procedure is on the job already."),
    "operation-other-family": Code(422, "The operation belongs to another engine family."),
    "operation-two-revisions": Code(422, "One operation stands on the job in two revisions."),
    "order-known": Code(409, "An order of that number is on record."),
    "outside-work-due": Code(422, "A piece is at an outside machinist longer than that."),
    "over-limit": Code(422, "The extra work comes to more than the owner agreed to."),
    "owner-differs": Code(422, "Another owner of the engine is on record: the change is said, or confirmed."),
    "owner-not-asked": Code(422, "The owner has not agreed to the extra work."),
    "parameter-unknown": Code(400, "The address takes no such query parameter."),
    "parameter-wrong": Code(400, "A query parameter cannot be read; it is named."),
    "part-number-unreadable": Code(422, "The part number is empty, too long or not printable."),
    "part-to-be-sorted": Code(422, "A part without a kind is still to be sorted: it cannot be issued."),
    "part-unusable": Code(422, "The part record cannot be used; the value is named."),
    "part-withdrawn": Code(422, "Old stock of the number is withdrawn: it goes to quarantine and nowhere else."),
    "photo-asked": Code(422, "A photo of it is asked for: where it is kept, or why there is none."),
    "photo-check-missing": Code(422, "Something closes over what another person has not seen good."),
    "photo-missing": Code(422, "The check is kept with a photo: say where it is."),
    "pick-over-hold": Code(422, "More cannot be picked than was held."),
    "piece-unknown": Code(422, "No such piece of an engine is known."),
    "place-exists": Code(409, "The place is on record already."),
    "position-empty": Code(409, "Our records have nothing at that position."),
    "position-lost": Code(422, "Nobody knows where the part came from."),
    "position-lost-already": Code(409, "It is on record already that its place is lost."),
    "position-taken": Code(409, "Something sits at that position already."),
    "position-unknown": Code(422, "The engine family has no such place."),
    "prefix-differs": Code(422, "The family's engine numbers begin differently."),
    "procedure-unusable": Code(422, "The procedure cannot be used; every problem is named."),
    "projection-not-accepted": Code(422, "The projection was not measured as its gasket needs it."),
    "quantity-negative": Code(422, "The amount is less than nothing."),
    "quantity-not-whole": Code(422, "The amount is not a whole number of the base unit."),
    "quantity-too-large": Code(422, "The amount is larger than the books hold."),
    "quantity-unit-unknown": Code(422, "The unit is not in the shop's list of units."),
    "quantity-unreadable": Code(422, "The amount cannot be read as a number and a unit."),
    "quantity-wrong-dimension": Code(422, "The unit measures something else than what is asked for."),
    "quarantine-needed": Code(422, "The line may not go on a shelf; a quarantine has to be named for it."),
    "reading-asked": Code(422, "A meter reading is asked about: it stands once it is confirmed, with its reason."),
    "reading-implausible": Code(422, "The value lies where none is expected; what was likely meant is offered."),
    "reading-unusable": Code(422, "A reading cannot be used; the value is named."),
    "reading-withdrawn": Code(409, "The reading was withdrawn."),
    "readings-disagree": Code(422, "Repeats of a reading differ by more than their gauges allow: a third is read."),
    "readings-missing": Code(422, "A result needs readings that are not there; each is named."),
    "reason-missing": Code(422, "A reason is needed."),
    "records-differ": Code(
        422, "The two records are not of one part, or cannot be joined yet; what stands against it is named."
    ),
    "rejected": Code(422, "It was rejected: it goes back to its supplier, or is scrapped."),
    "release-needed": Code(422, "It leaves quarantine when a second person releases it."),
    "replacement-kind": Code(422, "The kind of a replacement row is not one way, both ways or one to several."),
    "replacement-loop": Code(422, "The replacements would run in a circle."),
    "replacement-ratio": Code(422, "The ratio of a replacement is missing, zero, negative or unreadable."),
    "replacement-self": Code(422, "A part cannot replace itself."),
    "replacement-too-wide": Code(422, "The replacements branch too widely to be searched."),
    "replacement-twice": Code(422, "The same replacement stands in the list twice."),
    "replacement-unusable": Code(422, "The replacement cannot be used; the value is named."),
    "result-stale": Code(409, "The result does not stand any more; why is said."),
    "return-override-refused": Code(422, "What is to be done with the returned part cannot be overruled."),
    "reversed-already": Code(409, "The entry was taken back, or takes one back itself."),
    "review-not-open": Code(409, "That parts line is not up for review."),
    "revision-not-asked": Code(409, "The job is not asked about that revision."),
    "revision-taken": Code(409, "That revision is not the next one."),
    "ring-leaked": Code(422, "A ring that leaked is scrap: it never goes in again."),
    "ring-look-unusable": Code(422, "How a ring looked is said of rings only: whole, rolled or cut."),
    "ring-other-bore": Code(422, "The gap of a ring counts in its own bore only."),
    "ring-size-unknown": Code(422, "The size is in no table of ring sizes."),
    "ring-size-unreadable": Code(422, "The text is neither a dash number nor inside diameter x section."),
    "ring-unreadable": Code(422, "What is said of a ring makes no sense; the value is named."),
    "row-left-out": Code(422, "A person left the row out."),
    "run-early": Code(
        422, "The sealant has not cured long enough by its product sheet; starting now needs a signature."
    ),
    "run-missing": Code(409, "There is no first run on record."),
    "run-not-good": Code(422, "An engine whose first run was not good is not released."),
    "safety-sheet-missing": Code(422, "No safety data sheet of the chemical is on record: it is not issued."),
    "safety-sheet-unread": Code(422, "Who receives a chemical has not signed its safety data sheet as read."),
    "safety-sheet-unusable": Code(422, "The record of a safety data sheet cannot be used; the value is named."),
    "same-person": Code(422, "Two different people are needed."),
    "sample-plan-missing": Code(422, "The part has no sample plan."),
    "sample-unusable": Code(422, "The sample, or its plan, makes no sense; the numbers are named."),
    "scanned-twice": Code(422, "One line was scanned twice in one request."),
    "sealant-harms-sensors": Code(
        422, "Sensors ask for a sealant that is safe for them, and of this one it is not known, or it is not."
    ),
    "sealant-size-missing": Code(422, "The size of a bead, dab or film is missing, zero or negative."),
    "sealant-tube-unknown": Code(422, "No tube of the joint's sealant is known."),
    "sealant-two-products": Code(422, "One joint cannot be closed with two sealants."),
    "second-look-missing": Code(
        422, "A set or bearing on the cart was not looked at by a second person; each is named."
    ),
    "second-person-needed": Code(422, "Another person has to do this."),
    "serial-ambiguous": Code(409, "Several parts have that serial number; say which part."),
    "serial-count": Code(422, "As many serial numbers are needed as there are things."),
    "serial-elsewhere": Code(409, "That serial number is known and stands somewhere already."),
    "serial-is-one": Code(422, "A thing with a serial is one."),
    "serial-known": Code(409, "That serial number is on record already."),
    "serial-missing": Code(422, "The part is told apart by serial number; none was given."),
    "serial-not-kept": Code(422, "The part has no serial numbers."),
    "server-error": Code(500, "The service failed; nothing was changed by the request."),
    "set-broken": Code(422, "The set is broken."),
    "set-put-aside": Code(422, "What is printed on the set disagrees with what was measured: it is put aside whole."),
    "set-twice": Code(422, "One set was given to two bores."),
    "set-whole": Code(422, "The set is whole."),
    "sheet-unusable": Code(422, "The product sheet cannot be used; the value is named."),
    "shops-own": Code(422, "It is the shop's own: it does not go to the owner of the engine."),
    "site-exists": Code(409, "The site is on record already."),
    "size-forbids": Code(
        422, "The record of the engine's sizes or of its threads says that the part does not fit there."
    ),
    "size-goes-back": Code(422, "Less is off than is on record, and the piece is not said to be new."),
    "size-over-limit": Code(422, "More would be off than the limit lets; how much is left is named."),
    "size-unreadable": Code(422, "The text is neither the size of a ring nor a thickness."),
    "size-unusable": Code(422, "The entry of a size cannot be used; the value is named."),
    "spelling-ambiguous": Code(
        422, "Several lots or serials that differ in spelling alone were kept apart; which is meant has to be said."
    ),
    "stack-refused": Code(422, "That is not set under a liner here."),
    "stack-unreadable": Code(422, "A contributor of a stack of tolerances makes no sense; it is named."),
    "step-loop": Code(422, "The steps of the procedure wait for each other in a circle."),
    "step-not-on-job": Code(422, "No procedure of the job has that step."),
    "step-unknown": Code(422, "A step waits for a step that does not exist, or stands twice."),
    "stopped": Code(422, "The lot or the item is stopped."),
    "stopped-already": Code(409, "The lot or the item is stopped already."),
    "stopped-by-maker": Code(
        422, "A maker's bulletin stops the revision that the job works by; the newer one is taken first."
    ),
    "storage-unchecked": Code(
        422, "Kinds were counted of which nobody looked how they are stored; their rules are named."
    ),
    "storage-unsuitable": Code(
        422, "The place does not suit, or something is kept apart from it; say why it lies there all the same."
    ),
    "storage-unusable": Code(422, "What is said of storage or of a temperature cannot be used."),
    "study-unbalanced": Code(422, "Not everybody read every part equally often; what is missing is named."),
    "study-unusable": Code(422, "The study cannot be computed; the value is named."),
    "supplier-known": Code(409, "The supplier is on record."),
    "table-too-large": Code(422, "The table file is larger than any shop needs."),
    "table-unreadable": Code(422, "The file is no table that can be read."),
    "tag-missing": Code(422, "The old unit has no tag."),
    "tag-used": Code(409, "Another part of the job wears that tag."),
    "temperature-missing": Code(422, "Light alloy is warm of its hot wash: temperatures, or a reason, are needed."),
    "text-too-long": Code(422, "The text is longer than can be kept."),
    "too-many-columns": Code(422, "More columns than any table has."),
    "too-many-lines": Code(422, "More lines than one request may carry."),
    "too-many-tries": Code(429, "Too many failed log-ins; wait and try again."),
    "tube-content-unknown": Code(422, "What a closed tube holds, weighs empty or how dense it is, is not on record."),
    "tube-not-opened": Code(422, "By our records the tube is closed: book it open first."),
    "tube-number-used": Code(409, "An opened tube has that number already."),
    "undated": Code(422, "Without the date its life is counted from it may not go on a shelf."),
    "unit-unknown": Code(422, "The unit is not in the list."),
    "verdict-fails": Code(422, "What was measured says no; it goes in once a newer verdict is good."),
    "verdict-stale": Code(
        422, "What was judged was read anew or cut since: it is judged again before anything goes by it."
    ),
    "version-missing": Code(428, "A change needs an If-Match header with the version that was read."),
    "version-stale": Code(412, "Somebody changed it since it was read; read it again."),
    "was-in-engine": Code(422, "What was in an engine never goes back to a shelf."),
    "washed-out-unknown": Code(422, "The family's list of what comes out for washing has no such thing."),
    "weight-below-empty": Code(422, "The weight is less than that of the empty tube."),
    "weight-too-large": Code(422, "The weight is more than a full tube weighs."),
    "weights-unusable": Code(422, "A weight or a weight group makes no sense; the value is named."),
    "who-pays-unknown": Code(422, "It is paid by job, shop, supplier or maker."),
    "withdrawn-already": Code(409, "It was withdrawn already."),
    "wrong-bore": Code(422, "The set is marked for another bore."),
    "wrong-lubricant": Code(422, "The lubricant is not allowed on that rubber."),
    "wrong-part": Code(422, "It is for another part."),
    "wrong-place": Code(422, "That kind of place does not take this."),
    "wrong-place-of-origin": Code(422, "A reused part goes back where it came from."),
    "wrong-rubber": Code(422, "The compound is not allowed where it would sit."),
    "wrong-scan": Code(422, "What was scanned is not what the line names."),
    "wrong-supplier": Code(422, "It is with another supplier."),
    "wrong-turn": Code(422, "The accepted layout has the set turned otherwise."),
}


class DomainError(Exception):
    """A rule said no.

    code     a key of `CODES` (KeyError at construction otherwise: an unpublished code is a defect)
    message  a sentence for a person, naming the value
    values   the offending values, JSON-ready
    ways_out what can be done about it, sentences
    """

    def __init__(self, code: str, message: str, *, ways_out: tuple[str, ...] = (), **values: Any) -> None:
        CODES[code]
        super().__init__(message)
        self.code = code
        self.message = message
        self.values = values
        self.ways_out = ways_out

    @property
    def status(self) -> int:
        """HTTP status of the code."""
        return CODES[self.code].status

    def __repr__(self) -> str:
        return f"DomainError({self.code!r}, {self.message!r}, {self.values!r})"


class ManyErrors(DomainError):
    """A refused batch: says every refused line, not the first. `errors` is a tuple of (line number from 1, DomainError)."""

    def __init__(self, errors: tuple[tuple[int, DomainError], ...]) -> None:
        first = errors[0][1]
        super().__init__(
            first.code,
            "; ".join(f"line {number}: {error.message}" for number, error in errors),
            lines=[
                {"line": number, "code": error.code, "detail": error.message, "values": error.values}
                for number, error in errors
            ],
        )
        self.errors = errors
