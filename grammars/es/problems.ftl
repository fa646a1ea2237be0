# Qué está mal, dónde y qué se pide: lo que puede encontrarse quien hace el trabajo.
# Not checked by a native speaker.

problem-already-there = { $file }: ya existe; da el nombre de un fichero nuevo
problem-another-role = { $name } tiene aquí el papel de { $role ->
        [technician] técnico
       *[supervisor] supervisor
    }, no de { $other ->
        [technician] técnico
       *[supervisor] supervisor
    }
problem-another-unit = encontrada la unidad «{ $found }»; se pide: un número en { $unit }
problem-car-too-long = { $folder }: lo que se sabe del coche ocupa { $found } bytes y no se guarda; se pide: como mucho { $most }, más o menos otras tantas letras: acorta lo que pidió el cliente
problem-date-not-vouched-cars = nada garantiza la fecha de este ordenador, y con una equivocada se borraría demasiado pronto lo que se sabe de los coches; deja antes que sincronice su reloj
problem-date-not-vouched-sound = nada garantiza la fecha de este ordenador, y con una equivocada se borraría demasiado pronto el sonido; deja antes que sincronice su reloj
problem-ears-not-of-language = los oídos «{ $ears }» no saben { $language }; se pide: --ears, uno de { $known }
problem-files-called-that = { $kind } «{ $name }»: hay varios ficheros que se llaman así; se pide: uno de { $there }
problem-higher-first = encontrado de { $low } a { $high }; se pide: primero la menor
problem-index-busy = { $file }: otro programa lo está poniendo al día; inténtalo otra vez dentro de un momento
problem-stand-failed = { $file }, soporte: encontrada una comprobación del { $day } que falló; se pide: un 'companion check-stand' que salga como lo conocido, o 'unchecked_stand: say' en los ajustes
problem-stand-overdue = { $file }, soporte: encontrada una última comprobación del { $day }; se pide: un 'companion check-stand' que salga como lo conocido, o 'unchecked_stand: say' en los ajustes
problem-stand-never-checked = { $file }, soporte: no consta ninguna comprobación; se pide: un 'companion check-stand' que salga como lo conocido, o 'unchecked_stand: say' en los ajustes
problem-instruments-overdue = { $file }, instrumentos: encontrado { $found }; se pide: certificados vigentes el { $today }, o 'overdue_instruments: say' en los ajustes
problem-into-prompts-not-live = respuestas durante las indicaciones: solo con un micrófono en directo, con «--ears { $ears }» y con la voz hablada; hace falta: --ears { $ears } --voice speaker, o «answers_into_prompts: false» en los ajustes
problem-into-prompts-not-measured = respuestas durante las indicaciones: no se ha medido lo que el micrófono oye del altavoz; hace falta: «companion check --echo», o «answers_into_prompts: false» en los ajustes
problem-into-prompts-no-device = respuestas durante las indicaciones: no se sabe qué aparatos son ({ $why }); hace falta: un micrófono y un altavoz conectados
problem-into-prompts-other-devices = respuestas durante las indicaciones: se midió con { $then }; ahora hay { $now }; hace falta: «companion check --echo», o «answers_into_prompts: false» en los ajustes
problem-into-prompts-other-volume = respuestas durante las indicaciones: se midió con la voz a { $then } dB como mucho; ahora son { $now } dB; hace falta: «companion check --echo», o «answers_into_prompts: false» en los ajustes
problem-into-prompts-too-loud = respuestas durante las indicaciones: el micrófono oye el altavoz a { $echo } dBFS, demasiado alto; hace falta: unos auriculares con micrófono y «companion check --echo» con ellos, o «answers_into_prompts: false» en los ajustes
problem-key-beside-pin = { $name } firma con la clave que abre su PIN; sin --key
problem-login-no-key = no tienes clave aquí; pide una contraseña a quien lleva el almacén
problem-login-waits = demasiadas contraseñas equivocadas para este usuario; inténtalo otra vez dentro de { $seconds } s
problem-login-wrong = el usuario o la contraseña no es correcto
problem-loudspeaker-fails = altavoz ({ $name }): no puede sonar ({ $why })
problem-loudspeaker-no-portaudio = altavoz: { $why }
problem-microphone-no-portaudio = micrófono: { $why }
problem-microphone-not-there = micrófono ({ $name }): no puede grabar ni 16 kHz mono ni lo que declara como suyo ({ $why }); se pide un micrófono conectado
problem-name-alike = «{ $name }» se lee como «{ $other }» y se escribe de otra manera; se pide: el nombre tal como consta, o uno que no se confunda con él
problem-name-not-seen = una persona necesita un nombre que se pueda ver
problem-never-hears = { $ears } no puede oír nunca { $words }, y así nadie podría decir { $unsaid }; se pide: un modelo que conozca esas palabras, u otro reconocedor
problem-no-answer = no se encontró nada; se pide: una respuesta
problem-no-choice = encontrado «{ $found }»; se pide: { $wanted }
problem-no-code = un código de avería de { $found } caracteres; se pide: de 1 a { $most }, el código y una palabra
problem-no-date = «{ $found }» no es una fecha; se pide: AAAA-MM-DD, por ejemplo 2031-05-06
problem-not-correctable = el evento { $event } ({ $kind }) no es nada que una persona leyera, respondiera, hiciera o anotara; se pide: el evento de una lectura o de una respuesta ('companion review show' los muestra)
problem-correction-says-nothing = «{ $now }» no dice nada que el evento { $event } pudiera haber dicho; se pide: { $wanted }
problem-correct-without-supervisor = una corrección se firma con el PIN de quien supervisa, y en este registro nadie lo tiene; se da con 'companion people add NOMBRE --role supervisor'
problem-no-event = la sesión { $session } no tiene evento { $event }; se pide: de 1 a { $last }
problem-file-of-the-job-gone = { $file }: el fichero { $name } con el que empezó este trabajo ya no está; se pide: el mismo fichero allí otra vez, o --{ $name } con el sitio donde está ahora
problem-no-file-name = { $kind } «{ $name }»: se pide: un nombre corto de letras minúsculas, cifras, - y _, por ejemplo 'grey-hatchback'
problem-no-folder-for-record = { $folder }: no se puede crear la carpeta del registro ({ $why }); se pide: una carpeta en la que se pueda escribir, u otro --record
problem-no-job = no hay ningún trabajo «{ $name }»; se pide: uno de { $known }, o un fichero como mi_trabajo.yaml
problem-not-proposed = { $file }: usual_answers: se encontró { $question }: { $answer }; se pide: { $wanted }
problem-no-job-yet = { $record }: todavía no tiene ningún trabajo; se pide: uno hecho con 'companion start'
problem-no-key-here = «{ $name }» no tiene clave en este registro
problem-no-kilometres = encontrado «{ $found }»; se pide: kilómetros enteros
problem-no-number = encontrado «{ $found }»; se pide: un número
problem-no-number-in = encontrado «{ $found }»; se pide: un número en { $unit }
# pragma: allowlist nextline secret
problem-no-password = una contraseña tiene de { $least } a { $most } caracteres, por ejemplo cinco palabras; elige otra
problem-no-pin = un PIN tiene de { $least } a { $most } cifras y nada más; elige otro
problem-no-record = { $record }: no existe ese fichero de registro
problem-no-session = { $record }: no tiene ninguna sesión «{ $session }»; 'companion review list' las muestra
problem-no-sound-file = { $file }: no existe ese fichero de sonido
problem-no-sound-for-noise = no llegó ningún sonido para medir el ruido; se pide un micrófono encendido
problem-no-store-named = no se nombró ningún almacén; da --store, o el ajuste 'store'
problem-no-such-chart = no existe ese gráfico; elige uno en la página de estadísticas
problem-no-such-file = no hay { $kind } «{ $name }»; se pide: uno de { $there }, o un fichero como my_{ $kind }.yaml (para hacer uno: companion { $kind } new)
problem-no-such-step = «{ $step }» no es un paso que pida una respuesta; se pide uno de: { $known }
problem-no-two-figures = encontrado «{ $found }»; se piden: dos cifras, por ejemplo 370 a 400
problem-no-such-sensor = sensor «{ $sensor }»: ningún trabajo lo ajusta; se pide: { $there }, o un fichero de trabajo como my_job.yaml
problem-no-job-file = { $file }: no es un fichero de trabajo; se piden kind, id y name de un trabajo
problem-no-visit = { $record }: no tiene ninguna visita «{ $visit }»; se pide: una de 'companion visit list' (las últimas: { $latest })
problem-not-known = «{ $name }» no está entre las personas de este registro; añádela con 'companion people add'
problem-not-known-give-role = «{ $name }» no está entre las personas de este registro; da también --role
problem-not-known-supervisor = «{ $name }» no está entre las personas de este registro, y sus supervisores tienen PIN; se pide: uno de ellos
problem-not-over = la sesión { $session } no ha terminado; se pide: una terminada, o una que se paró y no se continuó (para continuarla: 'companion resume')
problem-not-sound = { $file }: no es un fichero de sonido que se pueda leer ({ $why }); se pide WAV o FLAC
problem-not-supervisor = { $name } tiene aquí el papel de { $role ->
        [technician] técnico
       *[supervisor] supervisor
    }; se pide: un supervisor
problem-not-written = { $file }: no se puede escribir ({ $why }); se pide: una carpeta en la que se pueda
problem-nothing-to-resume = { $record }: no tiene ningún trabajo interrumpido que continuar; empieza uno nuevo
problem-out-is-other = { $file }: ya existe y es otra cosa; da otro nombre, o da --force
problem-out-is-record = { $file }: es un registro o parte de uno, y ninguno se sobrescribe nunca; da otro nombre
problem-out-not-read = { $file }: no se puede leer ({ $why }); da otro nombre
problem-out-not-written = { $file }: no se puede escribir ({ $why }); se pide: una carpeta que exista y tenga sitio
problem-password-lost = { $file }: no se puede escribir la contraseña ({ $why }) y se ha perdido; retira el usuario y dalo de alta otra vez
problem-password-wrong = la contraseña no es correcta
problem-pedal-gone = pedal: { $file } ya no está; se pide que esté conectado
problem-pedal-no-key = pedal: «{ $key }» no es una tecla; se pide un número de 1 a { $last }, o una de { $known }
problem-pedal-not-opened = pedal: no se puede abrir { $file } ({ $why }); se pide: que esté conectado, y permiso para leerlo (mira docs/live.md)
problem-pedal-not-there = pedal: ningún dispositivo tiene la tecla { $key }; se pide que esté conectado; se miró en: { $seen }
problem-record-busy = { $record }: ya está abierto para escribir (proceso { $process }); cierra antes el otro acompañante, o da a este otro fichero de registro
problem-record-there = { $record }: ya existe, y un registro nunca se sobrescribe; aparta antes el registro y sus fragmentos de sonido
problem-resume-cut-short = El registro termina a mitad de un paso; se pide: el registro entero, o un trabajo nuevo.
problem-resume-other-files = Estos ficheros han cambiado desde que empezó la sesión: { $files }. Este trabajo no se puede continuar; se pide: los mismos ficheros y la misma versión, o un trabajo nuevo.
problem-resume-other-files-version = Estos ficheros han cambiado desde que empezó la sesión: { $files }. Este trabajo lo empezó la versión { $begun } y esta es la versión { $now }, que puede traer otros ficheros. Vuelve a esa versión (en un equipo: 'systemd/install.sh --back'), o empieza un trabajo nuevo; esta versión todavía puede mostrar y comprobar el antiguo.
problem-resume-over = Esta sesión ha terminado y no se puede continuar; se pide: una interrumpida.
problem-resume-signed = Esta sesión está firmada y no se puede continuar; se pide: un trabajo nuevo.
problem-resume-unlike = Sesión { $session }, evento { $event }: { $why }. Este trabajo no se puede continuar; se pide: los mismos ficheros y la misma versión, o un trabajo nuevo.
problem-resume-unlike-version = Sesión { $session }, evento { $event }: { $why }. Este trabajo lo empezó la versión { $begun } y esta es la versión { $now }, que puede traer otros ficheros. Vuelve a esa versión (en un equipo: 'systemd/install.sh --back'), o empieza un trabajo nuevo; esta versión todavía puede mostrar y comprobar el antiguo.
problem-say-who = di con --by quién responde: { $names }
problem-sent-claims-pin = dice llevar un PIN, que nadie dio en este equipo
problem-sent-form-not-known = tiene una forma que este equipo no conoce
problem-sent-other-state = vale para otro estado del trabajo que el que tiene ahora este equipo
problem-sent-signature = su firma no se hizo sobre este trabajo tal como lo tiene este equipo
problem-settings-there = { $file }: ya existe y no se sobrescribe; se pide: otro --settings
problem-store-busy = el almacén está ocupado o no responde; inténtalo otra vez dentro de un momento
problem-store-job-changed = el almacén no tiene este trabajo como lo recibió; avisa a quien lo lleva
problem-store-no-day = el «{ $day }» no se hizo ningún trabajo
problem-store-no-job = el almacén no te muestra ningún trabajo «{ $job }»; mira en la lista cuáles hay
problem-store-no-room = el almacén no tiene sitio: { $why }
problem-store-no-such-person = el almacén no deja entrar a nadie como «{ $login }»; se pide: alguien dado de alta antes
problem-store-not-reached = no se llega al almacén: { $why }
# pragma: allowlist nextline secret
problem-store-password = el almacén no acepta la contraseña de este usuario; mira el fichero de la contraseña (modo 0600) y lo que dio quien lo lleva
problem-store-password-in-address = la dirección del almacén lleva una contraseña, que ve cualquiera que liste los programas; ponla en un fichero y da su nombre
problem-store-refuses = el almacén se niega: { $why }
problem-vin-check-digit = VIN { $vin }: encontrado { $found } en la posición { $place }; según los demás debería ser { $wanted }: uno de los caracteres está mal, o los números de este mercado no llevan dígito de control (ajuste vin_check_digit)
problem-vin-length = VIN { $vin }: encontrados { $found } caracteres; se piden: { $wanted }
problem-vin-letter = VIN { $vin }: encontrada la letra { $letter } en la posición { $place }, que ningún VIN lleva; quizá sea un { $instead }; míralo otra vez
problem-vin-sign = VIN { $vin }: encontrado «{ $sign }» en la posición { $place }; se piden: cifras y letras
problem-vosk-needs-model = Vosk necesita la carpeta de un modelo; se pide: --model CARPETA (mira 'companion fetch-ears --help')
problem-write-comment-empty = el comentario está vacío
problem-write-correction-empty = una corrección dice qué es lo correcto y por qué; falta una de las dos cosas
problem-write-job-broken = este trabajo no está como se escribió, y no se firma
problem-write-no-such-text = una firma no admite ese texto
problem-wrong-pin = ese no es el PIN de { $name }; no se firmó nada, y consta en el registro
problem-spelling-left = se dejó de deletrear; se pide: escribirlo, o deletrearlo otra vez
problem-spelling-no-yes = no se oyó un sí a lo que se deletreó; se pide: escribirlo, o deletrearlo otra vez
problem-vehicle-left = no se eligió ningún vehículo; se pide: su número, o 'companion start --vehicle NAME'
problem-vehicle-no-yes = no se oyó un sí al vehículo; se pide: un sí, o 'companion start --vehicle NAME'
problem-voice-nothing-to-learn = de la voz de { $name } no se guarda nada de lo que puedan aprender estos oídos; se pide: companion voice enrol
problem-no-voice-beside = no se guarda ninguna voz de «{ $name }» al lado de { $record }; mira companion voice list
problem-no-voice = no se guarda ninguna voz de «{ $name }» en el idioma «{ $language }» en { $folder }; mira companion voice list
problem-voice-no-sound = no se guarda ningún sonido de { $name }: los rasgos solos no se pueden exportar; se pide: una persona que permitió guardar el sonido
problem-voice-no-name = el nombre de quien es la voz: hay { $found } caracteres, o signos que no son texto; se pide: de 1 a { $most } caracteres
problem-no-store-key-here = «{ $name }» no tiene clave del almacén en este registro
problem-no-supervisor-here = aquí nadie que supervise tiene un PIN para responder; 'companion people add'
