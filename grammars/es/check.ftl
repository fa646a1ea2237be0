# Lo que dicen `companion check` y `companion files`. Not checked by a native speaker.

check-mark-well = bien
check-mark-look = ojo
check-mark-wrong = MAL
check-mark-skipped = -
check-mark-ask = habla
check-line = { $title }: { $found }
check-wanted = se pide: { $wanted }
check-wanted-word = se pide
check-to-do = qué hacer: { $what }
check-ready = Todo listo.
check-not-ready = Falta algo: mira arriba lo que está MAL.
check-see-what-was-found = Mira lo que se encontró.
check-no-fault = ningún fallo
check-readable-files = ficheros que se puedan leer

check-title-files = trabajo, vehículo, montaje y puesto
check-title-disk = sitio para el registro
check-title-record = el propio registro
check-title-rights = permisos del registro y de los ajustes
check-title-clock = reloj
check-title-store = almacén de varios equipos
check-title-microphone = micrófono
check-title-level = nivel del micrófono
check-title-noise = ruido en el taller
check-title-words = palabras del reconocedor
check-title-speed = velocidad del reconocedor
check-title-loudspeaker = altavoz
check-title-voice = voz
check-title-loop_back = hablar y oírse
check-title-speech = alguien que habla

check-files-wanted = ficheros que encajan entre sí, con las cifras del fabricante
check-files-example = Se usan cifras de ejemplo. Escribe las del fabricante en ficheros propios y elígelos en los ajustes.
check-files-reply-twice =
    { $count ->
        [one] La indicación de { $steps } ya dice cómo responder, y el acompañante lo dice otra vez.
       *[other] Las indicaciones de { $steps } ya dicen cómo responder, y el acompañante lo dice otra vez.
    }
check-files-reply-twice-to-do = Quítalo del texto: el acompañante lo dice por sí mismo.

check-disk-found = { $free } MB libres en { $folder }
check-disk-wanted = al menos { $least } MB
check-disk-to-do = Haz sitio, o borra grabaciones antiguas: companion clips expire --days 30
check-record-wanted = un registro con todas sus páginas intactas
check-record-none-yet = todavía no hay ninguno; lo crea el primer trabajo
check-record-to-do = companion verify; luego apártalo y pon una copia en su lugar: companion restore
check-record-whole = { $file }, { $size } MB, está intacto
check-clock-wanted = un servicio de hora que haya puesto el reloj
check-clock-set = el reloj está sincronizado
check-clock-not-set = nada avala la fecha; el registro lo dirá
check-clock-to-do = Deja que el equipo llegue a un servidor de hora, o ponle un reloj que siga en marcha sin corriente.
check-store-wanted = todo enviado y aceptado
check-store-not-set = no hay ningún almacén elegido
check-store-never = nunca se envió nada
check-store-never-to-do = companion ship; en un equipo: systemctl enable --now bay-companion-shipping.timer
check-store-sent = todo se envió { $when }
check-store-told = { $told } ({ $when })
check-store-files = se rechazaron los ficheros publicados: { $told } ({ $when })
check-store-files-to-do = Avisa a quien los publicó. Hasta entonces los trabajos se hacen con los ficheros de antes.
check-store-refused-to-do = Avisa a quien lleva el almacén, y mira el registro: companion verify --store ...
check-store-later = No se pierde nada: se envía cuando el almacén vuelva a estar accesible.
check-rights-wanted = lo escribe este usuario, no lo lee ningún extraño
check-rights-folder = no se puede escribir en { $folder }
check-rights-record = no se puede leer y escribir { $record }
check-rights-settings = cualquiera puede cambiar { $file }
check-rights-strangers = cualquiera en esta máquina puede mirar en { $folder }
check-rights-strangers-to-do = Las voces son datos personales: chmod o-rwx { $folder }
check-rights-read = otros que no son su dueño pueden leer { $file }
check-rights-change = cualquiera puede cambiar { $file }
check-rights-do = { $command }
check-rights-chown = chown ESTE_USUARIO { $path }
check-rights-chmod = chmod o-w { $path }
check-rights-well = se puede escribir en { $folder }

check-answers-typed = las respuestas se teclean
check-answers-typed-and = las respuestas se teclean, y además: { $error }
check-microphone-own = el micrófono del sistema
check-microphone-wanted = un micrófono que grabe
check-microphone-to-do = Conéctalo. Para ver su nombre: companion check --devices; luego pon 'microphone' en los ajustes.
check-microphone-found = { $name } dio { $seconds } s de sonido
check-microphone-none = no hay micrófono
check-level-wanted = sonido por encima de { $dead } dBFS y sin recortes
check-level-found = hasta { $loud } dBFS, { $cut } recortado
check-level-silent = No llega ningún sonido. Enciéndelo; sube su nivel.
check-level-loud = Sujétalo más lejos, o baja su nivel.
check-noise-wanted = ruido por debajo de { $most } dBFS mientras nadie habla
check-noise-found = base { $floor } dBFS, a menudo { $loud } ({ $seconds } s)
check-words-wanted = un reconocedor que conozca todas las palabras del trabajo
check-words-to-do = Elige otro reconocedor, u otro modelo.
check-words-left-out = { $ears } no conoce: { $words }
check-words-left-out-to-do = No hay que hacer nada: cada respuesta tiene otra palabra.
check-words-well = { $ears } conoce todas las palabras
check-speed-wanted = como mucho { $most } s de trabajo por segundo de habla
check-speed-found = { $ears } trabaja { $work } s por segundo de habla
check-speed-slow = Las respuestas llegan tarde si corre algo más: que no corra nada más en este equipo.
check-speed-too-slow = Este equipo es demasiado lento para este reconocedor. Usa uno más rápido, o --ears typed.

check-loudspeaker-own = el altavoz del sistema
check-loudspeaker-wanted = un altavoz que suene
check-loudspeaker-shown = las indicaciones se muestran, no se dicen, y además: { $error }
check-loudspeaker-to-do = Conéctalo. Para ver su nombre: companion check --devices; luego pon 'loudspeaker' en los ajustes.
check-loudspeaker-well = { $name } puede sonar
check-voice-wanted = una indicación hablada
check-voice-to-do = Instala un sintetizador de voz: apt install espeak-ng libespeak-ng1
check-voice-found = { $maker } habló { $seconds } s, hasta el { $loudest } del máximo
check-voice-silent = El sintetizador de voz solo da silencio. Instálalo de nuevo.
check-voice-complaints = Antes falló esto: { $complaints }
check-loop-wanted = «{ $phrase }», dicho aquí y oído aquí
check-loop-no-reading = el trabajo no tiene ninguna lectura que escuchar
check-loop-well = «{ $words }», { $rise } dB por encima del ruido
check-loop-deaf = el micrófono no oye el altavoz
check-loop-deaf-to-do = Acerca el auricular a su micrófono y comprueba otra vez, o sube el volumen.
check-loop-other = un sonido { $rise } dB por encima del ruido, entendido como «{ $words }»
check-loop-other-to-do = Comprueba otra vez donde haya silencio; luego prueba un trabajo hablado.

check-sentence = brazo izquierdo, siete siete cinco milímetros, continuar
check-please-say = Di, por favor, durante tres segundos: { $sentence }.
check-speech-wanted = voz de { $quietest } a { $loudest } dBFS, { $above } dB por encima del ruido
check-speech-nobody-asked = no se pide a nadie que hable
check-speech-nobody = nadie habló en { $seconds } s
check-speech-found = voz de { $level } dBFS, { $above } dB por encima del ruido, { $cut } recortado
check-speech-judged = { $what }: { $found }
check-speech-overdriven = saturada
check-speech-too-loud = demasiado fuerte
check-speech-too-quiet = demasiado baja
check-speech-too-far = demasiado lejos para este ruido
check-speech-turn-down = Baja el nivel del micrófono y repite.
check-speech-turn-down-a-little = Baja un poco el nivel del micrófono.
check-speech-nearer = Acércate al micrófono, sube su nivel y repite.
check-speech-two-fingers = Pon el micrófono a dos dedos de la boca, o espera a que haya menos ruido.
check-speech-turn-up = Sube el nivel del micrófono.

check-devices-none = No hay dispositivos de sonido.
check-device-both = micrófono, altavoz
check-device-microphone = micrófono
check-device-loudspeaker = altavoz

files-could-never-pass = Nada podría pasar en { LOWER($title) }: la incertidumbre de { $result } sería { $uncertainty } y se permite { $allowed }; como mucho quedaría dentro con { $best }, y se pide { $wanted }. La mayor parte viene de { $cause }.

# Lo que el micrófono oye del altavoz.
check-title-echo = respuestas durante las indicaciones
check-echo-sentence = Así de alto hablo. Por favor, no digas nada hasta que termine.
check-echo-wanted = un altavoz que el micrófono no oiga más alto que el ruido de fondo, y por debajo de { $most } dBFS
check-echo-off = sin activar: el acompañante no escucha mientras habla
check-echo-listening = Silencio, por favor: digo una frase tan alto como puedo.
check-echo-found = el altavoz llega a { $echo } dBFS, { $above } dB por encima del ruido, tras { $delay } ms
check-echo-found-below = el altavoz llega a { $echo } dBFS, { $above } dB por debajo del ruido, tras { $delay } ms
check-echo-not-found = no se oye el altavoz: como mucho { $echo } dBFS, { $above } dB por debajo del ruido
check-echo-yes = se puede contestar durante las indicaciones: { $found }
check-echo-no = no se puede contestar durante las indicaciones: { $found }
check-echo-yes-to-do = Para permitirlo: «answers_into_prompts: true» en los ajustes.
check-echo-no-to-do = Usa unos auriculares con micrófono, o aleja el altavoz del micrófono; luego mide otra vez.
check-echo-dead = el micrófono no da sonido
