# Every sentence of the conversation that does not stand in the job file.
# Not checked by a native speaker.

yes-or-no = ¿Sí o no?
if-yes = Si está bien:
yes-or-which = ¿Sí, o cuál no?
say-done = Di hecho.
say-done-to-all = Di todo hecho.
say-continue = Di continuar.
say-continue-or-end = Di continuar, o terminar el trabajo.
not-touched-or-moved = Di todo igual, o se ha movido.

sentence = { SENTENCE($what) }
amount = { $amount }
asked-back = ¿{ CAPITAL($what) }?
said-back-together = { CAPITAL(LIST($amounts, last: ",")) }.
asked-back-together = ¿{ CAPITAL(LIST($amounts, last: ",")) }?

# $number: its place in the job, on the screen alone
stage = { CAPITAL($title) }.
stage-again = Otra vez: { LOWER($title) }.
where-stage = Etapa { COUNT($number) } de { COUNT($of) }, { LOWER($stage) }.
where = Etapa { COUNT($number) } de { COUNT($of) }, { LOWER($stage) }. En { LOWER($title) }.

digit-by-digit = Cifra por cifra, por ejemplo { EXAMPLE($whole, $decimals) }.
digit-by-digit-and-way = Cifra por cifra, por ejemplo { EXAMPLE($whole, $decimals) }, { DIRECTION($way) }.
way = { DIRECTION($way) }
which-way = ¿{ CAPITAL(LIST($ways, last: "or")) }? Por ejemplo, { $example }.
does-not-fit = Eso no es una respuesta aquí. Por ejemplo: { LIST($examples, last: ";") }.
does-not-fit-or =
    Eso no es una respuesta aquí. Por ejemplo: { LIST($examples, last: ";") }. Si no, { LIST($ways, last: "or") }.
type-it = No te oigo bien. Escríbelo, o dilo una vez más.
implausible = He oído { $heard }. Espero entre { $low } y { $high }. Léelo otra vez.
far-from-target = He oído { $heard }. Tras el movimiento esperaba { $target }. ¿Qué ha pasado? Mira, y léelo otra vez.
far-from-last = He oído { $heard }. La última lectura fue { $last }. Léelo otra vez.

not-allowed = { CAPITAL($heard) }. Debe estar entre { $low } y { $high }.

sorry = ¿Perdón?
not-taken = No lo tomo.
still-waiting = Estoy esperando.
not-now = Eso no encaja aquí.
paused = En pausa.
paused-by-silence = No oigo nada.
if-not-done-yet = Si aún no está hecho:
carrying-on = Seguimos.
stopped = Parado. Déjalo todo como está.
end-the-job = ¿Terminar el trabajo sin resultado?
ended = El trabajo ha terminado sin resultado. El registro se conserva.
correction-taken-back = Corrección retirada.
nothing-to-take-back = No hay nada que retirar.
taken-back = Retirado: { LOWER($title) }.
speak-note = Di tu nota.
note-kept = Nota guardada.
sound-goes-to-the-store = El sonido guardado también va al almacén del taller.
note-not-kept = Solo puedo guardar palabras: ninguna nota hablada.
note-not-heard = No he oído la nota. No se ha guardado nada de ella.
you-can-say = Puedes decir: { LIST($examples, last: ";") }.
louder = Más fuerte.
quieter = Más suave.
slower = Más despacio.
faster = Más rápido.

resumed = Aquí estoy. Estábamos en { LOWER($title) }.
was-it-begun = ¿Se movió algo para esta corrección?
was-it-touched = ¿Se ha tocado el soporte o el coche?
a-correction = una corrección
the-end = el final

# The voice check.
offer-voice-check = ¿Comprobamos lo bien que te oigo? Diez palabras, medio minuto.
each-after-me = Repite cada palabra después de mí.
say-word = Di { $word }.
voice-check-left = Entonces, sin comprobación.
say-digits = Di cada número cifra por cifra.
digits-as-found = Di cada número cifra por cifra, como mostró la comprobación.
voice-checked =
    { $mistaken ->
        [0] He oído bien { $right } de { $asked }.
       *[other] He oído bien { $right } de { $asked } y he tomado { $mistaken } por otra palabra.
    } { $outcome ->
        [well] Te oigo bien.
        [fair] Servirá; puede que te pregunte dos veces.
       *[poor] No puedo fiarme. Responde en la pantalla o con el pedal.
    }

sides = Izquierda y derecha son las del coche.
cautions-known = Las advertencias de hoy siguen en pie. Están en la pantalla.
instrument-overdue = Certificado caducado: { $name }.
stand-check-failed = El soporte no pasó su última comprobación.
stand-check-overdue = La comprobación mensual del soporte está vencida.

could-never-pass = Estos ficheros no pueden dar un resultado en { LOWER(LIST($titles)) }. Avisa a tu supervisor.

# What the room sounded like before the first word.
noise-overdriven = El micrófono está saturado. Sujétalo más lejos, o baja su nivel.
noise-dead = No oigo nada en absoluto del micrófono. ¿Está encendido?
noise-quiet = Hay bastante silencio para trabajar con la voz.
noise-loud = Hay ruido. Habla cerca del micrófono; puede que pregunte dos veces.
noise-too_loud = Aquí hay demasiado ruido. Usa el teclado o el pedal, o espera a que haya menos.

why-ended = terminado por el técnico
why-touched = tocado mientras el acompañante estaba apagado
why-taken-back = retirado por el técnico
why-correction-taken-back = corrección retirada por el técnico
drift-floor = Es probable que el suelo de este puesto haya cambiado. Haz que lo revisen antes del próximo trabajo.
drift-stand = Es probable que el soporte haya cambiado. Haz que lo revisen antes del próximo trabajo.
