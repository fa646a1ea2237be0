# Un trabajo línea a línea: quién dijo o hizo qué, y en qué quedó. Not checked by a native speaker.

who-companion = acompañante
who-technician = técnico
who-kept = guardado
who-worked_out = calculado
who-session = sesión

purpose-ask = pregunta
purpose-read_back = repite
purpose-explain = explica
purpose-instruct = indica
purpose-announce = anuncia
purpose-caution = advierte
purpose-unknown = dice

label-stage = etapa
label-heard = oído
label-refused = rechazado
label-silence = silencio
label-late = tarde
label-note = nota
label-confirmed = confirmado
label-answered = respondido
label-done = hecho
label-consent = consentimiento
label-taken_back = retirado
label-result = resultado
label-decision = decisión
label-correction = corrección
label-screws = tornillos
label-move = movimiento
label-advice = consejo
label-doubted = improbable
label-not_allowed = no permitido
label-misfit = no concuerdan
label-noise_check = prueba de ruido
label-voice_check = comprobación de voz
label-opened = abierto
label-resumed = reanudado
label-stopped = parado
label-finished = terminado
label-sign_off = firma
label-sound_deleted = sonido borrado
label-enrolled = registrado
label-pin = PIN
label-wrong_pin = PIN incorrecto
label-removed = dado de baja
label-date = fecha
label-likely_misread = probablemente mal leído
label-shims = calzos
label-cannot_pass = nada podía pasar

line-quoted = «{ $words }»
line-stage = { $title } ({ $number }/{ $of })
line-understood-as = entendido como { $what }
line-confidence = confianza { $confidence }
line-into-prompt = dicho durante la indicación: habían sonado { $sounded } de { $whole } s
line-heard-by = por { $ears }
line-next-guesses = otras posibilidades: { $guesses }
line-why = { $why }: { $what }
line-no-reason = no consta el motivo
line-levels = voz { $speech } dBFS, fondo { $background } dBFS
line-background = fondo { $background } dBFS
line-no-answer = sin respuesta
line-no-answer-in = sin respuesta en { $seconds } { $seconds ->
        [one] segundo
       *[other] segundos
    }
line-late = una respuesta a una pregunta anterior, no tomada
line-note-with-sound = una nota para el supervisor, con sonido
line-note-without-sound = una nota para el supervisor, sin sonido guardado
line-proposed = propuesto por el archivo del vehículo, y se respondió que sí
line-attempts = después de { $attempts } intentos
asked-correction = Tocado para la corrección
asked-break = Tocado durante la interrupción
line-keep-sound = guardar el sonido: { $answer }
line-title-and-value = { $title }: { $value }
line-aim = orientación
line-by-limits-alone = solo por sus límites
line-chance = probabilidad de estar dentro { $chance }
line-chance-of-both = probabilidad de que ambas estén dentro { $chance }
line-round = ronda { $round }: { $turns }
line-judged = juzgado: { $what }
line-misfit = Lecturas que no concuerdan.
line-opened-by = por { $name }
line-vehicle-chosen = vehículo { $vehicle }, elegido entre { $count }: { $heard }, y un sí
line-vehicle-of-visit = vehículo { $vehicle }, como en la visita { $visit }
line-nobody-named = persona sin nombrar
line-resumed = reanudado después de una interrupción
line-signed-off = { $name } ({ $role }) firmó los eventos 1 a { $events }
line-with-a-signature = con una firma
line-amended = en lugar del evento { $event }: { $now }
line-amended-by = { $name } (supervisor), { $proven }
line-sound-deleted =
    { $count ->
        [one] { $count } fragmento; su hash se conserva
       *[other] { $count } fragmentos; sus hashes se conservan
    }
line-name-typed = nombre tecleado, no probado
line-with-a-key = con una clave
line-pin-claimed = se alega un PIN, ninguna clave lo firmó
line-vouched-for-by = avalado por { $name }
line-vouched-for-by-nobody = sin aval de nadie
line-has-a-key = { $name } ({ $role }) tiene una clave
line-has-a-new-key = { $name } ({ $role }) tiene una clave nueva
line-pin-changed = { $name } tiene otro PIN
line-pin-failed = se dio un PIN incorrecto para { $name }
line-signs-no-more = { $name } ya no firma
line-removed-by = firmado por { $name }
line-date-vouched = todo hasta el trabajo { $session } se registró antes de esto
role-technician = técnico
role-supervisor = supervisor

meaning-number = un número: { $what }
meaning-choice = la respuesta { $what }
meaning-command = la orden { $what }
meaning-done = hecho
meaning-yes = sí
meaning-no = no
meaning-word = la palabra { $what }
meaning-confirmed = sí, y { $what }
meaning-mended = el número { $place } es { $what }

room-told = { $voice }: { $advice }
voice-reliable = voz fiable
voice-uncertain = voz insegura
voice-unreliable = voz no fiable
room-levels = base { $floor } dBFS, a menudo { $loud }
voice-check-told = se oye { $outcome }, { $right } de { $asked } palabras bien
voice-outcome-well = bien
voice-outcome-fair = regular
voice-outcome-poor = mal
voice-outcome-declined = rehusada
voice-outcome-left = interrumpida
voice-outcome-unanswered = sin respuesta
voice-confused = tomadas por otra: { $words }
voice-speech = voz { $level } dBFS
voice-above-noise = { $level } dB por encima del ruido
voice-digit-by-digit = números cifra por cifra desde aquí
voice-asked-again = las respuestas por debajo de { $confidence } se preguntan otra vez

settle-hardly = más lecturas apenas lo resolverían
settle-readings =
    { $count ->
        [one] { $count } lectura más, en promedio, debería resolverlo
       *[other] { $count } lecturas más, en promedio, deberían resolverlo
    }
settle-sets =
    { $count ->
        [one] { $count } serie más de lecturas debería resolverlo
       *[other] { $count } series más de lecturas deberían resolverlo
    }
moves-then = { $before }, luego { $move }
moves-none = ninguno
moved-turn-left = girado { $amount } a la izquierda
moved-turn-right = girado { $amount } a la derecha
moved-sideways-left = movido { $amount } a la izquierda
moved-sideways-right = movido { $amount } a la derecha
moved-distance-away = movido { $amount } más lejos del coche
moved-distance-towards = movido { $amount } hacia el coche
moved-height-up = placa { $amount } hacia arriba
moved-height-down = placa { $amount } hacia abajo
story-as_planned = como estaba previsto
story-wrong_way = dirección equivocada
story-wrong_screw = tornillo equivocado
story-wrong_amount = cantidad equivocada
story-twice_as_far = el doble
story-half_as_far = la mitad
story-not_turned = sin girar
story-sides_swapped_before = izquierda y derecha cambiadas en las lecturas de antes
story-ends_swapped_before = arriba y abajo cambiados en las lecturas de antes
story-ambiguous = ambiguo
story-unexplained = sin explicación
story-of = { $story }, { $screws }
story-instead = { $story } ({ $instead } en su lugar)
stories-either = o bien { $stories }
story-chance = { $story } ({ $chance })
suspects-told = { $likely }; leído otra vez: { $again }
suspects-nobody = nada en particular
suspect-share = { $cause } ({ $share })
asked-again-all = todo
shim-under = { $thickness } debajo de { $spot }
shims-told = { $under } por un alabeo del suelo de { $twist } (sin calzos, { $limits })
shims-none = ninguno
cannot-pass-told = { $title }: incertidumbre típica { $uncertainty }, límites { $limits }
cannot-pass-before = { $told }, visto antes de empezar el trabajo

advice-amount = { $amount } ± { $expanded } (U = k u, k = 2, alrededor del 95 %; incertidumbre típica u = { $uncertainty })
advice-shims = Calzos: { $under }
advice-shims-twist = alabeo del suelo { $twist }; sin calzos, { $limits }
advice-taken-into-account = se tiene en cuenta: { $title } { $amount }
advice-moves = Movimientos del soporte, en su orden: { $count }
advice-makes-stale = { $move }; hay que medir otra vez: { $titles }
advice-foot = pie { $ahead } por delante y { $left } a la izquierda del centro (u { $uncertainty })
advice-suspects = Sospechosos ({ $title })
advice-suspect = { $share } { $cause }, mal leído por { $error } si fue eso
advice-read-again = leído otra vez: { $again }
advice-screws = Tornillos, ronda { $round }: { $turns }
advice-predicted = previsto { $title }: { $amount }
advice-predicted-chance = probabilidad prevista de ambos ejes dentro: { $chance }
advice-move-judged = Movimiento juzgado: { $what }
advice-story-chance = probabilidad de esa explicación: { $chance }
advice-moved = se movió { $amount }
advice-cannot-pass = Ninguna lectura podía pasar: { $title } ({ $result })
advice-uncertainty-and-limits = incertidumbre típica { $uncertainty }; límites: { $limits }
advice-result = Resultado: { $result }
advice-at-range = a { $range }: { $sideways }, { $height }
label-taken_over = tomado de antes
label-visit = visita
label-cars_let_go = coches borrados
label-drift = cambio
label-codes = averías
label-practice = puesto simulado
line-drift = { $what } ha cambiado probablemente en { $where }, desde { $since }
line-drift-here = { $what } ha cambiado probablemente en este puesto, desde { $since }
line-drift-advice = Haz que lo revisen antes del próximo trabajo.
line-nothing = nada
line-no-longer-holds = ya no vale: { $what }
line-visit-opened = visita { $visit } abierta, o cambiados los datos de su coche
line-visit-vehicle = visita { $visit }: el coche es del fichero de vehículo { $vehicle }
line-visit-sensors = visita { $visit }: por ajustar, { $sensors }
line-visit-closed = visita { $visit } cerrada
line-codes-read =
    { $when ->
        [before] averías antes: { $codes }
       *[after] averías después: { $codes }
    }
line-of-visit = visita { $visit }
line-cars-let-go =
    { $count ->
        [one] lo que se sabía de { $count } coche
       *[other] lo que se sabía de { $count } coches
    }
