# Was Benachrichtigungen sagen. Jede darf auch { $shop } und { $email } verwenden.

knives = { $n ->
    [one] 1 Messer
   *[other] { $n } Messer
  }
life-last = dies wäre das letzte Mal
life-about = bei Ihrem Gebrauch noch etwa { $n } Mal
life-span = bei Ihrem Gebrauch noch etwa { $low } bis { $high } Mal
life-years = { $services }, etwa { $low } bis { $high } Jahre
life-years-up-to = { $services }, innerhalb von etwa { $high } Jahren

mail-see-visit = Zu Ihrem Auftrag
mail-keep = Bewahren Sie diese Nachricht auf: Ihr Link öffnet Ihre Seite, und niemand sonst sollte ihn haben. Fragen? Schreiben Sie an { $email }.
mail-questions = Fragen? Schreiben Sie an { $email }.
mail-astray = Ist das Paket verloren gegangen? Schreiben Sie an { $email }.
mail-greeting = Guten Tag, { $name },
mail-with-tag = { $name } (Anhänger { $tag })
mail-height = { $span } von der Höhe

mail-fact-reference = Auftragsnummer
mail-fact-knife = Messer { $n }
mail-fact-work = Arbeit insgesamt
mail-fact-ready-by = Fertig bis
mail-fact-price = Preis
mail-fact-booked-as = Gebucht mit
mail-fact-steel = Stahl, den es kostet
mail-fact-after = Danach
mail-fact-advice = Wir raten

## Gebucht
mail-booked-subject = Bitte bestätigen Sie Ihren Auftrag { $reference }
mail-booked-heading = { $knives } gebucht: bitte bestätigen
mail-booked-say = Jemand mit dieser Mailadresse, wir hoffen: Sie, hat { $knives } bei { $shop } gebucht. Der Auftrag zählt, sobald Sie ihn bestätigen. Sonst verfällt er von selbst, und Sie hören nichts mehr davon.
mail-booked-button = Ansehen und bestätigen
mail-booked-ready-post = { $day }, wenn sie bis { $by } abgeschickt sind
mail-booked-ready-counter = { $day }, wenn sie zur Zeit unten gebracht werden
mail-booked-range = Der Preis ist eine Spanne, weil noch niemand Ihre Messer gemessen hat. Innerhalb der Spanne fangen wir an; darüber hinaus fragen wir Sie zuerst.
mail-bring-heading = Vorbeibringen
mail-bring-say = Wir erwarten Sie am { $time }, { $place }. Bitte tragen Sie jede Klinge in Karton oder ein Tuch gewickelt.
mail-pack-heading = Eine Klinge verpacken
mail-pack-rule = { $rule } (Beim Paketdienst erfragt am { $day }.)
mail-pack-to = Bitte senden an: { $shop }, { $place }, { $country }. Der Beilegzettel liegt auf Ihrer Seite.

## Eine Beanstandung ist aufgenommen
mail-complained-subject = Wir sehen noch einmal nach: { $reference }
mail-complained-heading = Etwas war nicht in Ordnung; wir sehen noch einmal nach
mail-complained-say = Sie haben uns zu Auftrag { $about } geschrieben. Schicken oder bringen Sie diese Messer unter der Nummer unten zurück; wir sehen sie ohne Berechnung an, und was an uns lag, bringen wir umsonst in Ordnung. Wir haben dafür den { $day } im Sinn. Zeigt sich, dass andere Arbeit nötig ist, fragen wir Sie zuerst.

## Ein Preis wird gefragt
mail-quote-subject = Ihre Antwort, bitte: { $reference }
mail-quote-heading = Wir haben gemessen und brauchen Ihre Antwort
mail-quote-again-subject = Wir warten noch auf Ihre Antwort: { $reference }
mail-quote-again-heading = Ihre Messer warten auf Ihre Antwort
mail-quote-again-say = Wir haben Sie dies vor einigen Tagen gefragt. Bis Sie antworten, ruht die Arbeit, und der zugesagte Tag rückt nach hinten.
mail-quote-say-one = Eines Ihrer Messer braucht mehr oder andere Arbeit als gebucht. Wir tun nichts daran, bis Sie Ja oder Nein gesagt haben.
mail-quote-say-many = Einige Ihrer Messer brauchen mehr oder andere Arbeit als gebucht. Wir tun nichts daran, bis Sie Ja oder Nein gesagt haben.
mail-quote-button = Ja oder Nein sagen
mail-quote-no = Wenn Sie Nein sagen, geht das Messer zurück, wie es ist; für das Messen berechnen wir { $amount }. Die Tage bis zu Ihrer Antwort kommen zum zugesagten Tag hinzu.
mail-quote-no-free = Wenn Sie Nein sagen, geht das Messer zurück, wie es ist; das Messen kostet nichts. Die Tage bis zu Ihrer Antwort kommen zum zugesagten Tag hinzu.

## Beantwortet
mail-answered-subject = Ihre Antwort ist notiert: { $reference }
mail-answered-heading = Danke, Ihre Antwort ist notiert
mail-answered-no = geht zurück, wie es ist
mail-answered-yes = vereinbart zu { $amount }
mail-answered-say = Arbeit für { $amount } ist vereinbart. Sie kommt jetzt an die Reihe; wir haben dafür den { $day } im Sinn und schreiben, wenn sich das verschiebt.

## Abgesagt
mail-cancelled-subject = Abgesagt: { $reference }
mail-cancelled-heading = Ihr Auftrag ist abgesagt
mail-cancelled-say = Wir haben { $knives } mit der Nummer { $reference } von unserer Liste genommen. Zu zahlen ist nichts. Bitte schicken Sie sie nicht mehr ab; sind sie schon unterwegs, schreiben Sie uns an { $email }.
mail-cancelled-small = War es ein Versehen, buchen Sie einfach neu.

## Neue Links
mail-links-subject-one = Ein neuer Link zu Ihrem Auftrag { $reference }
mail-links-subject-many = Neue Links zu Ihren Aufträgen
mail-links-say = Sie, oder jemand, der Ihre Mailadresse kennt, haben { $shop } darum gebeten. Die Links unten öffnen Ihre Seiten.
mail-links-label = { $reference }, { $knives }, gebucht am { $day }
mail-links-knives-heading = Alle Ihre Messer
mail-links-knives-say = Dieser Link öffnet sich einmal, innerhalb eines Tages: jedes Ihrer Messer mit seiner Akte, dem, was von ihm übrig ist, und wann es uns wieder brauchen könnte.
mail-links-knives-button = Alle meine Messer öffnen
mail-links-small = Haben Sie nicht darum gebeten, ist nichts zu tun; ältere Links gelten weiter, bis ihr Tag vorüber ist.

## Fragen und Antworten
mail-answer-subject = Unsere Antwort: { $reference }
mail-answer-heading = Sie haben gefragt; hier ist unsere Antwort
mail-question-subject = Eine Frage der Werkstatt: { $reference }
mail-question-heading = Wir haben eine Frage
mail-written-button = Auf Ihrer Seite zurückschreiben
mail-written-small = Die Seite hält Fragen und Antworten bei Ihrem Auftrag zusammen; auch eine Antwort auf diese Mail erreicht uns.

## Ein Messer ist fällig
mail-due-subject-one = Eines Ihrer Messer könnte uns wieder brauchen
mail-due-subject-many = Einige Ihrer Messer könnten uns wieder brauchen
mail-due-say = Sie haben uns gebeten, Bescheid zu geben, wenn ein Messer fällig sein könnte. Nach dem, wie oft Sie sie bisher gebracht haben, ist es für diese ungefähr so weit. Schneiden sie noch, wie Sie es mögen, lassen Sie sie: Jeder Schliff kostet Stahl.
mail-due-last = zuletzt hier am { $day }
mail-due-book = Einen Schliff buchen
mail-due-knives = Alle meine Messer öffnen
mail-due-why = Sie bekommen dies, weil Sie auf Ihrer Seite darum gebeten haben. Ein Klick beendet es:
mail-due-stop = Keine solchen Erinnerungen mehr

## Angekommen
mail-received-subject-none = Nicht im Paket: { $reference }
mail-received-subject = { $n ->
    [one] Ihr Messer ist da: { $reference }
   *[other] Ihre { $n } Messer sind da: { $reference }
  }
mail-received-heading-none = Wir haben Ihr Paket geöffnet
mail-received-heading = { $n ->
    [one] 1 Messer ist angekommen
   *[other] { $n } Messer sind angekommen
  }
mail-received-held = zurückgestellt: siehe unten
mail-received-tag = Anhänger { $tag }
mail-received-missing-heading = Nicht im Paket
mail-received-missing = Ist es zu Hause geblieben, oder war das Paket beschädigt? Bitte schreiben Sie an { $email }.
mail-received-held-heading = Zurückgestellt, bis wir wissen, welches Messer es ist
mail-received-held-say = Wir raten nie, welches Messer welches ist. War es schon bei uns, hilft uns seine Marke oder eine alte Rechnung.
mail-received-next = Als Nächstes messen wir. Innerhalb des gebuchten Preises fangen wir an; darüber hinaus fragen wir Sie zuerst. Wir haben dafür den { $day } im Sinn.

## Eines lehnen wir ab
mail-refused-subject = Eines können wir nicht machen: { $reference }
mail-refused-heading = { $name }: dieses können wir nicht machen
mail-refused-a-knife = Ein Messer
mail-refused-recycle = Dafür wird nichts berechnet. Sie haben uns gebeten, eine abgelehnte Klinge dem Stahlschrott zu geben; sagen Sie es uns binnen einer Woche, wenn Sie sie doch zurückmöchten.
mail-refused-back = Dafür wird nichts berechnet. Es geht an Sie zurück, wie es kam.
mail-refused-damaged = Für die Arbeit wird nichts berechnet. Das Messer geht an Sie zurück, wie es jetzt ist. Bitte schreiben Sie uns, wie wir es wiedergutmachen sollen.

## Lost or damaged here
mail-lost-subject = Ihr Messer ist unauffindbar: { $reference }
mail-lost-heading = { $name }: wir finden es nicht
mail-lost-say = Das tut uns leid. Es war in unseren Händen, also stehen wir dafür ein. Wir suchen weiter und schreiben, sobald es auftaucht; für die Arbeit wird nichts berechnet. Bitte schreiben Sie uns, was es Ihnen wert war.
mail-damaged-subject = Bei uns beschädigt: { $reference }
mail-damaged-heading = { $name }: es wurde bei uns beschädigt
mail-damaged-say = Das tut uns leid. Es war in unseren Händen, also stehen wir dafür ein. Wir haben angehalten und prüfen, ob die Arbeit weitergehen kann. Wollen Sie vorher gefragt werden, schreiben Sie uns bitte.
mail-righted-subject-found = Wiedergefunden: { $reference }
mail-righted-heading-found = { $name }: es ist wieder da
mail-righted-found = Wir hatten geschrieben, dass wir es nicht finden. Es ist wieder hier, und die Arbeit geht dort weiter, wo sie stand.
mail-righted-subject-sound = Doch nicht beschädigt: { $reference }
mail-righted-heading-sound = { $name }: es ist nicht beschädigt
mail-righted-sound = Wir hatten geschrieben, dass es beschädigt ist. Das war ein Irrtum: wir haben noch einmal nachgesehen, es ist, wie es war.
mail-settled-subject = Mit Ihnen geregelt: { $reference }
mail-settled-heading = { $name }: mit Ihnen geregelt
mail-settled-replaced = Wie vereinbart bekommen Sie ein anderes Messer dafür.
mail-settled-paid = Wie vereinbart bezahlen wir es.
mail-settled-amount = Der Betrag: { $amount }.

## Fertig
mail-ready-subject-one = Fertig: { $name } ({ $reference })
mail-ready-subject-many = Fertig: Ihre { $n } Messer ({ $reference })
mail-ready-heading-one = Ihr Messer ist fertig
mail-ready-heading-many = Ihre { $n } Messer sind fertig
mail-ready-say-one = Es hat seine Prüfung bestanden und ist fertig.
mail-ready-say-many = Sie haben ihre Prüfung bestanden und sind fertig.
mail-ready-rest = { $n ->
    [one] Noch ein Messer desselben Auftrags ist in Arbeit; wir schreiben wieder.
   *[other] Noch { $n } Messer desselben Auftrags sind in Arbeit; wir schreiben wieder.
  }
mail-ready-post = Wir packen jetzt und schreiben noch einmal mit der Paketnummer. Öffnen Sie das Paket von sich weg: Was darin ist, ist scharf.
mail-ready-counter = Abzuholen bei { $place }.
mail-ready-button = Sehen, was gemacht wurde
mail-ready-small = Eine frisch geschliffene Schneide ist schärfer, als man sie in Erinnerung hat. Prüfen Sie sie nicht an der Haut.

## Später als zugesagt
mail-delay-subject = Später als gesagt: { $reference }
mail-delay-heading = Wir brauchen länger, als wir gesagt haben
mail-delay-before = Bisher zugesagt
mail-delay-now = Jetzt zugesagt
mail-delay-say = Das tut uns leid. Passt Ihnen der neue Tag nicht, antworten Sie auf diese Nachricht oder rufen Sie an: Arbeit, die nicht begonnen ist, kann abgesagt werden.
mail-delay-button = Sehen, wie es steht

## Mehr als vereinbart
mail-more-subject = Eine Frage zu Ihrem Messer ({ $reference })
mail-more-heading = Es braucht mehr, als wir vereinbart haben
mail-more-your-knife = Ihrem Messer
mail-more-say = Bei der Arbeit an { $name } haben wir dies gefunden: { $what }
mail-more-price = Damit würde die Arbeit an diesem Messer insgesamt { $amount } kosten.
mail-more-stopped = Wir haben angehalten und schleifen nicht weiter, bevor Sie es sagen.
mail-more-ask = Bitte antworten Sie auf diese Nachricht: Sollen wir weitermachen oder es lassen, wie es ist?
mail-more-ask-phone = Bitte antworten Sie auf diese Nachricht oder rufen Sie { $phone } an: Sollen wir weitermachen oder es lassen, wie es ist?

## Zurück
mail-returned-subject = Zurückgegeben: { $reference }
mail-returned-subject-post = Unterwegs zu Ihnen: { $reference }
mail-returned-heading = { $knives } zurückgegeben
mail-returned-heading-post = { $knives } unterwegs zu Ihnen
mail-returned-carrier = Paketdienst
mail-returned-number = Paketnummer
mail-returned-open = Öffnen Sie das Paket von sich weg: Die Schneiden sind scharf.
mail-returned-thanks = Danke, dass Sie da waren. Vorsicht mit den Schneiden: Sie sind scharf.
mail-returned-paid = Bezahlt: { $amount }.
mail-returned-ledger-heading = Was gemacht wurde, und was übrig ist
mail-returned-ledger-say = Jedes Messer hat seine eigene Seite: was wir gemessen haben, was abgeschliffen wurde, wie oft es noch geschliffen werden kann.
mail-returned-ledger-button = Die Akte von { $name }
mail-returned-late = Noch hier: { $knives }.
mail-returned-small = Ist etwas nicht in Ordnung? Sagen Sie es uns binnen zwei Wochen auf Ihrer Seite oder an { $email }; unsere eigene Arbeit sehen wir ohne Berechnung noch einmal an.

## Nachgefragt
mail-not-arrived-subject = Noch nicht hier: { $reference }
mail-not-arrived-heading = Ihre Messer sind noch nicht hier
mail-not-arrived-say = Wir hatten { $knives } inzwischen erwartet, Nummer { $reference }. Sind sie unterwegs, ist nichts zu tun. Sind sie noch nicht abgeschickt, schicken Sie sie bald oder sagen Sie ab: Wir halten den Platz noch eine Weile frei und vergeben ihn dann.
mail-lapsed-subject = Von der Liste genommen: { $reference }
mail-lapsed-heading = Wir haben Ihren Platz vergeben
mail-lapsed-say = Was Sie unter { $reference } gebucht haben, ist nie bei uns angekommen und steht darum nicht mehr auf unserer Liste. Zu zahlen ist nichts. Kommt es doch noch, nehmen wir es mit einem neuen Tag an; oder buchen Sie einfach neu.
mail-unfetched-subject = Liegt noch hier für Sie: { $reference }
mail-unfetched-heading = { $knives } fertig und abholbereit
mail-unfetched-say = Bitte holen Sie sie ab bei { $shop }, { $place }.
mail-unfetched-small = Können Sie nicht kommen? Schreiben Sie an { $email }, wir finden einen Weg.

## Kalendereinträge
cal-bring = Messer zu { $shop } bringen
cal-bring-say = Auftragsnummer { $reference }. Bitte tragen Sie jede Klinge eingewickelt.
cal-bring-alarm = Die Messer bringen
cal-send = Messer an { $shop } schicken
cal-send-say = Auftragsnummer { $reference }. Heute abschicken, damit der zugesagte Tag hält. Wie eine Klinge verpackt wird, steht auf der Seite.
cal-send-alarm = Die Messer abschicken
cal-fetch = Messer bei { $shop } abholen
cal-promised = Messer zugesagt bei { $shop }
cal-fetch-say = Auftragsnummer { $reference }. Wir schreiben, sobald sie fertig sind.
