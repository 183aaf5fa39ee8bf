# Was die Seiten den Kunden sagen.

## Frame
frame-skip = Zum Inhalt springen
frame-privacy = Was über Sie gespeichert wird

## Front page
home-not-set-up = Diese Werkstatt ist noch nicht eingerichtet
home-not-set-up-say = Wer sie betreibt, kann sich anmelden und anfangen.
home-sign-in = Anmelden
home-ready = Heute abgeschickt, wäre ein Messer fertig bis
home-lead = Wir nehmen Messer zurück: unsere eigenen, vor allem gezahnte, weil nur der Hersteller noch die Scheibe hat, die die Zähne schnitt, und glatte anderer Fabrikate.
home-book = Einen Schliff buchen
home-where = Wo ist mein Messer?
home-1 = Sie sagen, was fehlt
home-1-say = Ein paar Kreuze für jedes Messer. Sie sehen sofort, wie viel Stahl es kosten würde, was es kostet und wie oft es noch geht.
home-2 = Wir messen
home-2-say = Mit Messschieber und Lehre, bevor sich etwas dreht. Ergibt sich mehr, als Sie gebucht haben, fragen wir Sie zuerst.
home-3 = Wir schleifen und prüfen
home-3-say = Auf der Scheibe, die es schnitt, nicht tiefer als vereinbart. Jedes Messer besteht einen Schnitttest, bevor es geht.
home-4 = Es kommt mit seiner Akte zurück
home-4-say = Was abgenommen wurde, was übrig ist, und eine Vorschau: die Akte genau dieses Messers, solange es lebt.
refused-title = Was wir nicht annehmen, und warum
home-place = Wo wir sind
home-closed = geschlossen
from-to = { $from } bis { $to }
link-sent-title = Sehen Sie in Ihre Post
link-sent = Kennen wir diese Adresse, ist eine Mail mit Links zu Ihren Aufträgen unterwegs; das dauert ein, zwei Minuten. Kommt keine, haben Sie vielleicht mit einer anderen Adresse gebucht.
to-beginning = Zum Anfang
link-say = Jede Mail von uns enthält einen Link zu Ihrem Auftrag. Finden Sie ihn nicht, schicken wir Ihnen einen neuen, und dazu einen zu allen Ihren Messern.
link-address = Die Mailadresse, mit der Sie gebucht haben
link-send = Schicken Sie mir einen Link
link-stale = Dieser Link ist abgelaufen
link-stale-say = Links gelten nur eine Weile, damit eine alte Mail nichts öffnet. Wir können einen neuen an die Mailadresse des Auftrags schicken.
link-new = Schicken Sie mir einen neuen Link
link-nothing = Dieser Link öffnet nichts
link-nothing-say = Vielleicht ist beim Kopieren ein Stück verloren gegangen: Er sollte mit 43 Buchstaben und Ziffern enden. Öffnen Sie ihn aus der Mail selbst, oder lassen Sie sich einen neuen schicken.

## Booking
book-lead = Erzählen Sie uns von Ihren Messern; bei jedem sehen Sie sofort, was es braucht, kostet und übrig lässt. Gebucht ist nichts, bevor Sie auf den letzten Knopf drücken.
book-estimate = Schätzung zeigen
book-more = Noch ein Messer
book-all = Alles zusammen
book-when = Wann ist es zurück?
book-risk = Wer zahlt, wenn es verloren geht?
book-book = Buchen
book-after = Danach schreiben wir an Ihre Mailadresse; die Buchung zählt, sobald Sie sie dort bestätigt haben.
knife-again = Noch so eines
knife-remove = Herausnehmen
knife-photo-alt = Foto { $photo } von Messer { $knife }
knife-photos-have = Fotos, die wir schon haben
knife-n = Messer { $n }
knife-make = Fabrikat und Name
knife-make-hint = Wie es auf der Klinge steht, falls dort etwas steht.
knife-edge = Wie sieht die Schneide aus?
knife-teeth = Wenn es Zähne hat, was soll aus ihnen werden?
knife-teeth-hint = Wird daraus eine glatte Schneide, wird die ganze Tiefe der Zähne abgeschliffen.
knife-keep = Behalten
knife-keep-note = neu geschnitten, einzeln oder auf einer passenden Scheibe von uns
knife-plain = Glatt schleifen
knife-length = Länge der Schneide
knife-length-hint = Von der Ferse bis zur Spitze. Zoll gehen auch: 8 1/4 in. Bei einem Messer von uns darf es leer bleiben.
knife-tag = Unser Anhänger
knife-tag-hint = Von einem früheren Auftrag, etwa 7KM2-QX.
knife-steel = Stahl
knife-steel-hint = Leer, wenn Sie es nicht wissen; das ist ganz üblich.
knife-carbon = Es ist Kohlenstoffstahl: Er dunkelt nach und rostet, wenn er nass bleibt
knife-wrong = Was fehlt ihm?
knife-dull = Stumpf
knife-chips = Ausbrüche in der Schneide
knife-tip = Spitze fehlt oder ist verbogen
knife-teeth-worn = Zähne abgenutzt oder fehlen
knife-bent = Verbogen oder verdreht
knife-rust = Rost
knife-handle = Griff lose oder trocken
knife-crack = Ein Riss in der Klinge
knife-ceramic = Es ist aus Keramik
knife-chip-depth = Tiefster Ausbruch
knife-chip-hint = Eine Bankkarte ist 0,76 mm dick: Halten Sie sie neben den Ausbruch. Leer, wenn Sie es nicht sagen können.
knife-tip-length = Wie viel von der Spitze fehlt
knife-photos = Fotos
knife-photos-hint = Das ganze Messer, und den Schaden aus der Nähe. Bis zu vier. Wir behalten nur das Bild, nicht, wo es aufgenommen wurde.
knife-note-fold = Sonst noch etwas, das wir wissen sollten?
knife-note = In Ihren Worten
knife-which = Welches Messer ist es?
knife-mark = Unsere Marke ist nahe der Ferse eingeschlagen.
knife-other = Anderes Fabrikat
knife-other-note = sagen Sie uns unten, was es ist
way-none-free = in den nächsten zwei Wochen ist keine Zeit frei
way-chosen = zu einer Zeit, die Sie wählen
way-post = Mit der Post
way-post-note = Sie packen, wir sagen wie
way-counter = An unserer Theke
way-address-note = an die Adresse unten
way-fetch = Sie holen sie ab
way-fetch-note = wir schreiben, wenn sie fertig sind
way-refused-back = Zurückschicken, wie es ist
way-recycle = Dem Stahlschrott geben
way-recycle-note = es kommt nicht zurück
way-in = Wie kommen sie zu uns?
way-arrival = Ankunft
way-carry = Bitte tragen Sie jede Klinge in Karton oder ein Tuch gewickelt.
way-pack = Eine Klinge für die Post verpacken
way-checked = Beim Paketdienst erfragt am { $day }.
way-packing-read = Ich habe gelesen, wie eine Klinge verpackt wird
way-out = Wie gehen sie zurück?
way-back = Rückweg
way-worth = Was sind sie zusammen wert?
way-worth-hint = Bis dahin ist das Rückpaket gedeckt.
way-if-not = Wenn wir eines doch nicht machen können
who-title = Wer sind Sie?
who-name = Name
who-mail = Mailadresse
who-mail-hint = Alles, was wir zu sagen haben, geht dorthin; sonst nichts.
who-phone = Telefon
who-street = Straße und Hausnummer
who-postcode = Postleitzahl
who-town = Ort
who-country = Land
when-title = Wann sollen wir anfangen?
when-rush = Eilig: binnen zwei Werktagen nach Ankunft, gegen Aufschlag
when-early = Bitte beginnen Sie vor Ablauf der Widerrufsfrist. Ich weiß, dass mein Widerrufsrecht endet, wenn die Arbeit ganz getan ist.
slot-time = Zeit an der Theke
slot-choose = eine Zeit wählen

## Private page
visit-title = { $n ->
    [one] Ihr Messer
   *[other] Ihre { $n } Messer
  }
visit-reference = Auftragsnummer
visit-booked = gebucht am { $day }
visit-off = Dieser Auftrag wurde abgesagt. Zu zahlen ist nichts, und geschickt werden sollte nichts.
visit-again = Neu buchen
confirm-title = Bitte bestätigen
confirm-say = Die Buchung zählt, sobald Sie sagen, dass Sie es waren. Bis dahin wird nicht lange etwas dafür frei gehalten.
confirm-button = Meine Buchung bestätigen
confirm-written = Wir haben geschrieben an
confirm-written-say = Die Buchung zählt, sobald Sie den Link in dieser Mail öffnen und bestätigen. Stimmt die Adresse nicht? Dann sagen Sie unten ab und buchen Sie neu; das ist schnell getippt.
visit-asked = { $n ->
    [one] Ein Messer wartet auf Ihre Antwort.
   *[other] { $n } Messer warten auf Ihre Antwort.
  }
visit-to-question = Zur Frage
visit-ready-by = Fertig bis
visit-parcel = Rückpaket
visit-parcel-number = Nummer
visit-paid = Bezahlt
visit-costs = Was es kostet
visit-comes = Wie sie kommen
visit-goes = Wie sie zurückgehen
visit-by-post = mit der Post
visit-fetched = Sie holen sie an unserer Theke ab
we-cannot = Dieses können wir nicht machen
waits-you = Es wartet auf Sie
waits-us = Es wartet auf uns
waits-part = Es wartet auf ein Teil
price-agreed = Vereinbarter Preis
price = Preis
price-unmeasured = Preis, bis es gemessen ist
due = Fällig
steel-takes = Stahl, den es kostet
of-height = { $span } von der Höhe
more-times = Wie oft noch
edge-drawn = Die Schneide vorher und nachher, maßstäblich
photo-n = Foto { $n }
photos = Fotos
ledger-of = Die Akte dieses Messers
tag = Anhänger
so-far = Was bisher geschah
ask-no-free = Nein, schicken Sie es zurück, wie es ist
ask-no = Nein, schicken Sie es zurück, wie es ist ({ $amount } für das Messen)
ask-yes = Ja, für { $amount }
ask-by-mail = Zum Antworten öffnen Sie bitte den Link in unserer Mail: So wissen wir, dass Sie es sind.
we-advise = Wir raten: { $advice }
ask-title = Sollen wir?
ask-comes = Gemessen kommt es auf
ask-was = Gebucht war es mit
ask-takes = Die Arbeit kostet
ask-after = danach:
price-lines = Der Preis, Posten für Posten
life-none = nichts, wovon wir wissen, setzt ein Ende
way-change = Ändern, wie sie zurückgehen
way-change-button = Ändern
slip = Beilegzettel
off-title = Absagen
off-say = Solange nichts angekommen ist, kostet das nichts. Neu buchen können Sie jederzeit.
off-button = Den ganzen Auftrag absagen
papers = Unterlagen
calendar-file = Kalenderdatei
papers-write = Lieber per Mail? Nennen Sie die Auftragsnummer und schreiben Sie an

## What was done
said-booked = Gebucht. Danke! Eines ist noch zu tun: Bestätigen Sie über den Link in unserer Mail.
said-confirmed = Bestätigt. Wir freuen uns auf Ihre Messer.
said-back = Geändert. Sie gehen so zurück, wie unten steht.
said-cancelled = Er ist abgesagt.
said-agree = Danke. Es kommt jetzt an die Reihe.
said-decline = Notiert: Es geht zurück, wie es ist.
said-asked = Abgeschickt. Wir schreiben, sobald wir eine Antwort haben.
said-complained = Aufgenommen: Dies ist der Auftrag, der es in Ordnung bringt.
said-remind = Wir erinnern Sie, wenn ein Messer fällig sein könnte.
said-no-remind = Keine Erinnerungen mehr.
page-visit = Auftrag { $reference }
page-slip = Beilegzettel { $reference }
arrives-here = mit der Post; sie sind hier
arrives-post = mit der Post, bitte bis { $day }
arrives-counter = an unserer Theke, { $place }: { $time }
book-ready-by = Wenn sie am { $there } hier sind: fertig bis { $ready }. Wir schreiben, wenn sich das verschiebt.

## Packing slip
slip-confirm = Bitte bestätigen Sie die Buchung über den Link in unserer Mail, bevor Sie etwas abschicken.
slip-by = Bitte abschicken bis
slip-back = Zurück zu Ihrem Auftrag
slip-to = An
slip-from = Von
slip-no = Nr.
slip-knife = Messer
slip-in-box = Im Karton
slip-packing = Verpacken
slip-opener = Für alle, die öffnen: schnittfeste Handschuhe an, von sich weg öffnen. Eine Klinge kann durch ihre Hülle gekommen sein.
slip-print = Drucken Sie diese Seite (Strg+P oder „Drucken“ im Menü des Browsers); heraus kommt nur der Zettel.

## A knife and its ledger
knife-model = Modell
knife-today = Heute
knife-services = Noch möglich
knife-heights = Die Höhen als Zahlen
knife-height-caption = Höhe in der Mitte
knife-when = Wann
knife-height = Höhe
knife-nothing = Darüber ist noch nichts geschrieben.
knife-forecast = Vorhersagen nehmen an, dass es benutzt und gebracht wird wie bisher. Jede Zahl ist in der Mitte der Klinge gemessen.
knife-done = Was gemacht wurde
knife-entries = Einträge werden nie geändert. Was falsch war, berichtigt ein späterer Eintrag, und beide bleiben.
knife-corrected = Später berichtigt
knife-of = { $now } von { $new } Höhe
knife-high = { $now } hoch

## Words
words-services-none = nichts in Sicht, was begrenzt

## Questions and answers
talk-title = Fragen und Antworten
talk-none = Ist etwas unklar? Fragen Sie hier; die Antwort kommt per Mail und bleibt bei diesem Auftrag.
talk-field = Ihre Frage oder Ihre Antwort
talk-send = An die Werkstatt schicken
talk-you = Sie
talk-shop = Die Werkstatt
wrong-title = Ist etwas nicht in Ordnung?
wrong-say = Nach einer Woche stumpf, ein Grat, eine Spur, die nicht da war? Sagen Sie es uns bis { $day } hier: Unsere eigene Arbeit sehen wir ohne Berechnung noch einmal an.
wrong-open = Sagen, was nicht in Ordnung ist
wrong-which = Um welche Messer geht es?
wrong-what = Was ist nicht in Ordnung?
wrong-what-hint = Was Sie damit gemacht haben, und was es nicht mehr tut.
wrong-send = Noch einmal ansehen lassen
wrong-again = Einiges davon sehen wir noch einmal an: Der Auftrag dafür ist { $reference }. Seine Seite steht in der Mail, die wir geschickt haben.
wrong-about = Dieser Auftrag gehört zu einem früheren; was an uns lag, bringen wir ohne Berechnung in Ordnung.

## All my knives
mine-title = Alle Ihre Messer
mine-say = Was wir von den Messern von { $name } wissen.
mine-none = Noch war keines Ihrer Messer hier
mine-none-say = Sobald wir eines in der Hand hatten, steht hier seine Akte.
mine-last = Bei uns
mine-next = Könnte uns wieder brauchen
mine-here = es ist jetzt hier
mine-home = zuletzt hier bis { $day }
mine-next-habit = um { $month }, nach dem, wie oft es bisher gebracht wurde; schneidet es noch, wie Sie es mögen, später
mine-next-others = um { $month }, nach dem, wie oft Ihre anderen Messer gebracht wurden
mine-next-unknown = das lernen wir mit seinem zweiten Besuch; lassen Sie es, solange es schneidet, wie Sie es mögen
mine-remind-title = Erinnerungen
mine-remind-say = Wenn Sie möchten, schreiben wir, wenn ein Messer fällig sein könnte, höchstens einmal für jedes und nie aus anderem Anlass. Ein Klick beendet es.
mine-remind = Ja, erinnern Sie mich
mine-reminded = Sie haben uns gebeten zu schreiben, wenn ein Messer fällig sein könnte.
mine-remind-stop = Bitte keine Erinnerungen mehr
once-say = Der Link in unserer Mail öffnet sich einmal. Was er öffnet, bleibt eine Stunde offen.
once-open = Alle meine Messer öffnen
once-used = Dieser Link wurde benutzt oder ist abgelaufen
once-used-say = Er öffnet sich einmal, damit eine weitergeleitete Mail nichts öffnet. Ein neuer ist in einer Minute da.
stop-title = Die Erinnerungen beenden?
stop-say = Wir schreiben dann nicht mehr, wenn ein Messer fällig sein könnte. Alles zu einem Auftrag kommt weiterhin.
stop-done = Keine Erinnerungen mehr
stop-done-say = Es ist getan. Auf der Seite aller Ihrer Messer können Sie wieder darum bitten.

## Was gespeichert wird
kept-what = Was
kept-why = Wofür
kept-long = Wie lange
kept-who = Wer es sieht
kept-1-what = Ihr Name, Mailadresse, Telefon, Anschrift
kept-1-why = um Sie zu erreichen und Ihre Messer zurückzuschicken
kept-1-long = bis Sie um Löschung bitten
kept-1-who = Annahme, Inhaber; die Anschrift auch der Paketdienst
kept-2-what = Was Sie über Ihre Messer schreiben, Ihre Fragen und unsere Notizen
kept-2-why = um die Arbeit zu tun, die Sie wünschen
kept-2-long = bis Sie um Löschung bitten
kept-2-who = Annahme, Werkbank, Inhaber
kept-3-what = Bilder Ihrer Messer
kept-3-why = um sie zu unterscheiden und ihren Zustand zu zeigen
kept-3-long = bis Sie um Löschung bitten; Bilder einer nie abgeschickten Buchung zwei Tage
kept-3-who = Annahme, Werkbank, Inhaber; Sie, über Ihren privaten Link
kept-4-what = Die Benachrichtigungen an Sie
kept-4-why = damit nachgesehen werden kann, was gesagt wurde
kept-4-long = zwei Jahre, oder bis Sie um Löschung bitten
kept-4-who = Annahme, Inhaber (ohne die Schlüssel Ihrer Links); Ihr Mailanbieter
kept-5-what = Ihre Aufträge und was vereinbart wurde
kept-5-why = um zu halten, was wir versprochen haben
kept-5-who = Annahme, Werkbank, Inhaber
kept-6-what = Nummerierte Rechnungen
kept-6-why = weil die Buchhaltung sie verlangt
kept-6-long = so lange das Gesetz es verlangt; sie tragen eine Nummer und keinen Namen
kept-6-who = Inhaber
kept-7-what = Die technische Akte jedes Messers: Maße, Arbeit, Prüfungen
kept-7-why = um zu sagen, wie viel Leben eine Klinge noch hat
kept-7-long = auf Dauer; sie nennt niemanden
kept-7-who = Annahme, Werkbank, Inhaber; wem das Messer gehört
kept-8-what = Kopien von all dem
kept-8-why = damit durch einen Unfall nichts verloren geht
kept-8-who = Inhaber
kept-9-what = Technische Protokollzeilen: Zeit, Seite, Antwort, eine Vorgangsnummer
kept-9-why = um Fehler zu finden
kept-9-long = so lange die Werkstatt ihre Protokolle behält
kept-9-who = wer den Server betreibt; sie enthalten keinen Namen, keine Adresse und keinen Link
kept-5-long = bis Sie um Löschung bitten; eine Buchung, die nie ankommt, verfällt nach { $n } Tagen
kept-backups = in den letzten { $n } nächtlichen Sicherungen der Werkstatt
kept-backups-own = so lange wie die eigenen Sicherungen der Werkstatt
kept-none = Diese Werkstatt ist noch nicht eingerichtet und speichert über niemanden etwas.
kept-title = Wer es speichert
kept-caption = Was gespeichert wird, wofür, wie lange, und wer es sieht
kept-not = Was nicht
kept-not-say = Keine Werbung, keine Messung von Besuchern, keine Programme oder Bilder anderer Firmen und keine Kartennummern. Cookies gibt es zwei: einer hält das Personal angemeldet, einer merkt sich die Sprache, wenn Sie eine wählen. Eine Erinnerung, dass ein Messer fällig ist, kommt nur, wenn Sie darum gebeten haben, und endet mit einem Klick.
kept-rights = Einsehen, berichtigen, löschen lassen
kept-rights-1 = Schreiben Sie an die Adresse oben und nennen Sie die Nummer eines Ihrer Aufträge. Sie bekommen alles in einer Datei, oder wir nehmen Sie aus unseren Büchern: Name, Adressen, Notizen, Bilder und Benachrichtigungen gehen sofort, aus den Sicherungen, wenn diese ersetzt werden. Nur solange ein Messer von Ihnen bei uns ist, müssen wir wissen, wem es gehört.
kept-rights-2 = Die technische Akte einer Klinge bleibt, weil der nächste Besitzer auf sie angewiesen ist, aber nichts führt von ihr zu Ihnen. In der Europäischen Union stehen diese Rechte in der Datenschutz-Grundverordnung, Artikel 15 bis 20; Sie können sich auch an Ihre Datenschutzbehörde wenden.
not-right = { $n ->
    [one] Eines stimmt noch nicht
   *[other] { $n } Dinge stimmen noch nicht
  }

## Draft
draft-began = Auf diesem Gerät haben Sie eine Buchung begonnen.
draft-go-on = Damit weitermachen
draft-throw-away = Verwerfen
problem-reference = Vorgangsnummer für die Werkstatt:
