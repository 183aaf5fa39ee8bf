# What the pages say to customers.

## Frame
frame-skip = Skip to the page
frame-privacy = What is kept about you

## Front page
home-not-set-up = This shop is not set up yet
home-not-set-up-say = Whoever runs it can sign in and begin.
home-sign-in = Sign in
home-ready = Sent today, a knife would be ready by
home-lead = We take knives back: our own, serrated ones above all, because only the maker still has the wheel that cut the teeth, and plain ones of other makes.
home-book = Book a sharpening
home-where = Where is my knife?
home-1 = You say what is wrong
home-1-say = A few ticks for each knife. You see at once what steel it would take, what it would cost and how often it can be done again.
home-2 = We measure
home-2-say = With caliper and gauge, before anything turns. If it comes out beyond what you booked, we ask you first.
home-3 = We grind, and prove it
home-3-say = On the wheel that cut it, no deeper than agreed. Every knife passes a cutting test before it leaves.
home-4 = It comes back with its record
home-4-say = What was taken off, what is left, and a forecast: the ledger of that very knife, for as long as it lives.
refused-title = What we do not take, and why
home-place = Where we are
home-closed = closed
from-to = { $from } to { $to }
link-sent-title = Look into your mail
link-sent = If we know this address, a mail with links to your visits is on its way; it takes a minute or two. If none comes, you may have booked with another address.
to-beginning = To the beginning
link-say = Every mail from us holds a link to your visit. If you cannot find it, we send you a new one, and with it one to all your knives.
link-address = The mail address you booked with
link-send = Send me a link
link-stale = This link is past its day
link-stale-say = Links work for a while only, so that an old mail opens nothing. We can send a new one to the mail address of the visit.
link-new = Send me a new link
link-nothing = This link opens nothing
link-nothing-say = Perhaps a piece of it was lost when it was copied: it should end with 43 letters and figures. Open it from the mail itself, or let us send you a new one.

## Booking
book-lead = Tell us about your knives; for each one you see at once what it would take, cost and leave. Nothing is booked before you press the last button.
book-estimate = Show the estimate
book-more = Add another knife
book-all = All together
book-when = When is it back?
book-risk = Who pays if it is lost?
book-book = Book it
book-after = After this we write to your mail address; the booking counts once you have confirmed it there.
knife-again = Same again
knife-remove = Take it out
knife-photo-alt = Photo { $photo } of knife { $knife }
knife-photos-have = Photos we have already
knife-n = Knife { $n }
knife-make = Make and name
knife-make-hint = As it stands on the blade, if anything does.
knife-edge = What does its edge look like?
knife-teeth = If it has teeth, what should become of them?
knife-teeth-hint = Turned into a plain edge, the whole depth of the teeth is ground away.
knife-keep = Keep them
knife-keep-note = cut anew, one by one or on a wheel of ours that fits
knife-plain = Make it a plain edge
knife-length = Length of the edge
knife-length-hint = Heel to tip. Inches are fine too: 8 1/4 in. For a knife of ours it may stay empty.
knife-tag = Our tag
knife-tag-hint = From an earlier visit, like 7KM2-QX.
knife-steel = Steel
knife-steel-hint = Empty if you don’t know; that is quite usual.
knife-carbon = It is carbon steel: it darkens and rusts when left wet
knife-wrong = What is wrong with it?
knife-dull = Dull
knife-chips = Chips in the edge
knife-tip = Tip missing or bent
knife-teeth-worn = Teeth worn or missing
knife-bent = Bent or twisted
knife-rust = Rust
knife-handle = Handle loose or dry
knife-crack = A crack in the blade
knife-ceramic = It is ceramic
knife-chip-depth = Deepest chip
knife-chip-hint = A bank card is 0.76 mm thick: hold it beside the chip. Empty if you cannot tell.
knife-tip-length = How much of the tip is missing
knife-photos = Photos
knife-photos-hint = The whole knife, and the damage from close by. Up to four. We keep the picture only, not where it was taken.
knife-note-fold = Anything else we should know?
knife-note = In your words
knife-which = Which knife is it?
knife-mark = Our mark is stamped near the heel.
knife-other = Another make
knife-other-note = tell us below what it is
way-none-free = no time is free in the next two weeks
way-chosen = at a time you choose
way-post = By post
way-post-note = you pack, we tell you how
way-counter = At our counter
way-address-note = to the address below
way-fetch = You fetch them
way-fetch-note = we write when they are ready
way-refused-back = Send it back as it is
way-recycle = Recycle the steel
way-recycle-note = it does not come back
way-in = How do they come to us?
way-arrival = Arrival
way-carry = Please carry each blade wrapped in card or a towel.
way-pack = Packing a blade for the post
way-checked = Asked of the carrier on { $day }.
way-packing-read = I have read how to pack a blade
way-out = How do they go back?
way-back = Way back
way-worth = What are they worth together?
way-worth-hint = The parcel back is covered up to this.
way-if-not = If we cannot do one of them after all
who-title = Who are you?
who-name = Name
who-mail = Mail address
who-mail-hint = Everything we have to say goes there; nothing else does.
who-phone = Telephone
who-street = Street and number
who-postcode = Postal code
who-town = Town
who-country = Country
when-title = When shall we begin?
when-rush = Rush: within two working days of arrival, for a surcharge
when-early = Please begin before the time for withdrawal is over. I know that my right to withdraw ends once the work is fully done.
slot-time = Time at the counter
slot-choose = choose a time

## Private page
visit-title = { $n ->
    [one] Your knife
   *[other] Your { $n } knives
  }
visit-reference = Reference
visit-booked = booked { $day }
visit-off = This visit was called off. Nothing is to be paid, and nothing should be sent.
visit-again = Book again
confirm-title = Please confirm
confirm-say = The booking counts once you say that it was you. Until then nothing is kept free for it for long.
confirm-button = Confirm my booking
confirm-written = We have written to
confirm-written-say = The booking counts once you open the link in that mail and confirm. Is the address wrong? Then call it off below and book again; what you typed is quickly typed.
visit-asked = { $n ->
    [one] One knife waits for your answer.
   *[other] { $n } knives wait for your answer.
  }
visit-to-question = To the question
visit-ready-by = Ready by
visit-parcel = Parcel back
visit-parcel-number = number
visit-paid = Paid
visit-costs = What it costs
visit-comes = How they come
visit-goes = How they go back
visit-by-post = by post
visit-fetched = you fetch them at our counter
we-cannot = We cannot do this one
waits-you = It waits for you
waits-us = It waits for us
waits-part = It waits for a part
price-agreed = Price agreed
price = Price
price-unmeasured = Price, until it is measured
due = Due
steel-takes = Steel it takes
of-height = { $span } of its height
more-times = How many more times
edge-drawn = The edge before and after, to scale
photo-n = Photo { $n }
photos = Photos
ledger-of = The ledger of this knife
tag = Tag
so-far = What has happened so far
ask-no-free = No, send it back as it is
ask-no = No, send it back as it is ({ $amount } for measuring)
ask-yes = Yes, do it for { $amount }
ask-by-mail = To answer, please open the link in our mail: that way we know it is you.
we-advise = We advise: { $advice }
ask-title = Shall we?
ask-comes = Measured, it comes to
ask-was = Booked it was
ask-takes = The work takes
ask-after = afterwards:
price-lines = The price, line by line
life-none = nothing we know of sets an end
way-change = Change how they go back
way-change-button = Change it
slip = Packing slip
off-title = Call it off
off-say = As long as nothing has arrived this costs nothing. You can book again at any time.
off-button = Call off the whole visit
papers = Papers
calendar-file = Calendar file
papers-write = Rather by mail? Name the reference and write to

## What was done
said-booked = Booked. Thank you! One thing is left to do: confirm it by the link in our mail.
said-confirmed = Confirmed. We look forward to your knives.
said-back = Changed. They go back as you say below.
said-cancelled = It is called off.
said-agree = Thank you. It goes into line now.
said-decline = Noted: it goes back as it is.
said-asked = Sent. We write as soon as we have an answer.
said-complained = Taken in: this is the visit that puts it right.
said-remind = We will remind you when a knife may be due.
said-no-remind = No more reminders.
page-visit = Visit { $reference }
page-slip = Packing slip { $reference }
arrives-here = by post; they are here
arrives-post = by post, please by { $day }
arrives-counter = at our counter, { $place }: { $time }
book-ready-by = If they are here on { $there }: ready by { $ready }. We write when that moves.

## Packing slip
slip-confirm = Please confirm the booking by the link in our mail before you send anything.
slip-by = Please send it by
slip-back = Back to your visit
slip-to = To
slip-from = From
slip-no = No.
slip-knife = Knife
slip-in-box = In the box
slip-packing = Packing
slip-opener = For whoever opens it: cut-resistant gloves on, open away from yourself. A blade may have come through its wrapping.
slip-print = Print this page (Ctrl+P, or “Print” in your browser’s menu); only the slip comes out.

## A knife and its ledger
knife-model = Model
knife-today = Today
knife-services = Services left
knife-heights = The heights as figures
knife-height-caption = Height at the middle
knife-when = When
knife-height = Height
knife-nothing = Nothing is written about it yet.
knife-forecast = Forecasts assume that it is used and brought as it was so far. Every figure is measured at the middle of the blade.
knife-done = What was done
knife-entries = Entries are never changed. What was wrong is put right by a later entry, and both stay.
knife-corrected = Corrected later
knife-of = { $now } of { $new } height
knife-high = { $now } high

## Words
words-services-none = nothing in sight that limits

## Questions and answers
talk-title = Questions and answers
talk-none = Something unclear? Ask here; the answer comes by mail and stays with this visit.
talk-field = Your question, or your answer
talk-send = Send it to the shop
talk-you = You
talk-shop = The shop
wrong-title = Is something not right?
wrong-say = Dull after a week, a burr, a mark that was not there? Until { $day } tell us here: we look at our own work again without charge.
wrong-open = Say what is not right
wrong-which = Which knives is it about?
wrong-what = What is not right?
wrong-what-hint = What you did with it, and what it does not do any more.
wrong-send = Have it looked at again
wrong-again = We look at some of these again: the visit for it is { $reference }. Its page is in the mail we sent.
wrong-about = This visit is about an earlier one; what was our fault is put right without charge.

## All my knives
mine-title = All your knives
mine-say = What we know of the knives of { $name }.
mine-none = No knife of yours has been here yet
mine-none-say = Once we have had one in hand, its record stands here.
mine-last = With us
mine-next = May want us again
mine-here = it is here now
mine-home = last here until { $day }
mine-next-habit = around { $month }, by how often it was brought so far; if it still cuts as you like, later
mine-next-others = around { $month }, by how often your other knives were brought
mine-next-unknown = we learn that with its second visit; leave it as long as it cuts as you like
mine-remind-title = Reminders
mine-remind-say = If you like, we write when a knife may be due, at most once for each, and never for anything else. One click ends it.
mine-remind = Yes, remind me
mine-reminded = You asked us to write when a knife may be due.
mine-remind-stop = No more reminders, please
once-say = The link in our mail opens once. What it opens stays open for an hour.
once-open = Open all my knives
once-used = This link has been used, or is past its day
once-used-say = It opens once, so that a forwarded mail opens nothing. A new one is sent in a minute.
stop-title = End the reminders?
stop-say = We then write no more when a knife may be due. Everything about a visit still comes.
stop-done = No more reminders
stop-done-say = It is done. On the page of all your knives you can ask for them again.

## What is kept
kept-what = What
kept-why = What for
kept-long = How long
kept-who = Who sees it
kept-1-what = Your name, mail address, telephone, address
kept-1-why = to reach you and send your knives back
kept-1-long = until you ask to be erased
kept-1-who = desk, owner; the address also the parcel service
kept-2-what = What you write about your knives, your questions, and our notes
kept-2-why = to do the work you want
kept-2-long = until you ask to be erased
kept-2-who = desk, bench, owner
kept-3-what = Pictures of your knives
kept-3-why = to know them apart and show their state
kept-3-long = until you ask to be erased; pictures of a booking that was never sent, two days
kept-3-who = desk, bench, owner; you, by your private link
kept-4-what = The notices we sent you
kept-4-why = so that what was said can be looked up
kept-4-long = two years, or until you ask to be erased
kept-4-who = desk, owner (without the keys of your links); your mail provider
kept-5-what = Your bookings and what was agreed
kept-5-why = to keep what we promised
kept-5-who = desk, bench, owner
kept-6-what = Numbered bills
kept-6-why = because bookkeeping asks for them
kept-6-long = as long as the law asks; they carry a number and no name
kept-6-who = owner
kept-7-what = Each knife's technical record: measures, work, checks
kept-7-why = to say how much life a blade has left
kept-7-long = for good; it names nobody
kept-7-who = desk, bench, owner; whoever owns the knife
kept-8-what = Copies of all of this
kept-8-why = so that nothing is lost by an accident
kept-8-who = owner
kept-9-what = Technical log lines: time, page, answer, a reference number
kept-9-why = to find faults
kept-9-long = as long as the shop keeps its logs
kept-9-who = whoever runs the server; they hold no name, address or link
kept-5-long = until you ask to be erased; a booking that never arrives lapses after { $n } days
kept-backups = in the shop's last { $n } nightly backups
kept-backups-own = as long as the shop's own backups
kept-none = This shop is not set up yet, and keeps nothing about anybody.
kept-title = Who keeps it
kept-caption = What is kept, what for, how long, and who sees it
kept-not = What is not
kept-not-say = No advertising, no measuring of visitors, no programs or pictures from other companies, and no card numbers. There are two cookies: one keeps staff signed in, one remembers the language if you choose one. A reminder that a knife is due for service comes only if you asked for it, and stops with one click.
kept-rights = To see it, to correct it, to have it erased
kept-rights-1 = Write to the address above and name the reference of one of your visits. You get everything in one file, or we take you out of our books: your name, addresses, notes, pictures and the notices go at once, and from the backups as they are replaced. Only while a knife of yours is with us do we need to know whose it is.
kept-rights-2 = The technical record of a blade stays, because the next owner depends on it, but nothing leads from it to you. In the European Union these rights come from the General Data Protection Regulation, articles 15 to 20; you may also turn to your data protection authority.
not-right = { $n ->
    [one] One thing is not right yet
   *[other] { $n } things are not right yet
  }

## Draft
draft-began = You began a booking on this device.
draft-go-on = Go on with it
draft-throw-away = Throw it away
problem-reference = Reference for the shop:
