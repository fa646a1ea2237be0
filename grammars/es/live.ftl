# Lo que el acompañante cuenta de sí mismo durante un trabajo, y las marcas de cada línea en el
# terminal. Not checked by a native speaker.

mark-says = dice
mark-hears = oye
mark-not = no
mark-taken = tomado
mark-judged = juzga
mark-stops = parado
mark-note = aviso
mark-drift = cambio
mark-shows = marca
mark-you = tú
typed-twice = Tecleado dos veces seguidas: { $words } se toma una vez.
screen-stage-number = { $number } de { $of }  { $title }
screen-stage-taken-over = { $title }, de lo que se tomó de antes

live-hearing-hung = Mi oído ha dejado de responder. Me reinicio; no se pierde nada.
live-voice-back = La voz ha vuelto.
live-voice-gone = No hay voz; lee las indicaciones en la pantalla. ({ $error })
live-words-left-out = { $ears } no conoce: { $words }. Lo que solo se puede decir con estas palabras se deja fuera; para todo hay otra forma.
live-waiting-for-device = { $error }. Espero a que se conecte.
live-own-voice-heard = El micrófono oye el altavoz: ahí no se toman respuestas durante las indicaciones. Mide otra vez: companion check --echo
live-microphone-gone = No hay micrófono ({ $name }): no llega sonido. Conéctalo, o escribe.
live-microphone-back = El micrófono ha vuelto.
live-disk-full = El disco está lleno. Espero a que haya sitio. No se pierde nada.
live-disk-has-room = Hay sitio en el disco otra vez.
live-clock-forward = El reloj de este ordenador saltó { $seconds } s hacia delante. El trabajo sigue; el registro lleva además un reloj que no salta.
live-clock-back = El reloj de este ordenador saltó { $seconds } s hacia atrás. El trabajo sigue; el registro lleva además un reloj que no salta.
live-session = Sesión { $session }.
live-next = El informe: { $report } escribe { $file }. La firma: { $sign }
live-not-watched = En este trabajo no se miró si algo cambió: { $why }
live-example-files = FICHEROS DE EJEMPLO, NO VALORES DE UN FABRICANTE.
live-example-which = De ejemplo son: { LIST($files, last: "and") }.
live-interrupted = Interrumpido; no se pierde nada. Para continuar: { $command }
live-visit = Visita { $visit }, sesión { $session }.
live-store-refused = El almacén no acepta el registro de este equipo: { $told }
live-store-waits = Lo hecho aquí espera a ser enviado: { $told }
live-store-files = Se rechazaron los ficheros publicados, se usan los de antes: { $told }

# La voz que el oído aprende.
live-voice-learned = { $count ->
        [one] He aprendido de una respuesta confirmada de este trabajo; tu voz está ahora en la versión { $version }.
       *[other] He aprendido de { $count } respuestas confirmadas de este trabajo; tu voz está ahora en la versión { $version }.
    }
live-voice-not-learned = En este trabajo no se ha aprendido nada de tu voz: { $why }
live-voice-not-used = No se usa lo aprendido de tu voz: { $why }
voice-what-is-kept =
    Se va a aprender la voz de { $name }. Tu voz es un dato personal.
    Solo en este equipo se guardan rasgos de lo que dices ahora, y de las respuestas que confirmas en trabajos en los que dices «guardar el sonido». Con «solo las palabras» no se guarda nada de la voz de ese trabajo. De los rasgos no se puede reproducir lo dicho, pero son tuyos y podrían delatar de quién es la voz.
    El registro solo lleva un número de versión. «companion voice forget» lo borra todo.
# Asked at the end of a practice.
voice-learn-now = ¿Aprendo tu voz ahora? Dos minutos, y te rechazaré menos veces.
voice-whose = Tu nombre, como en un trabajo (--technician)
voice-may-keep-features = ¿Se pueden guardar rasgos de tu voz?
voice-may-keep-sound = ¿Se puede guardar también el sonido? Hace falta para volver a aprender cuando cambie el oído, y para ceder grabaciones.
voice-nothing-kept = No se ha guardado nada.
voice-begin = Te pediré { $count } palabras, dos veces cada una. Di cada una cuando la oigas, como la dices al trabajar.
voice-say = Di: { $word }
voice-say-again = Otra vez: { $word }
voice-left-out = Se deja: { $word }
voice-learning = Un momento: estoy aprendiendo.
voice-nothing-heard = No se ha oído ninguna de las palabras, así que no se ha aprendido nada; prueba en un sitio más tranquilo, o mira el micrófono con «companion check».
voice-learned = Aprendida la voz de { $name } con { $count } sonidos: versión { $version }.
voice-missed = Sin aprender: { $words }. Se oyen como antes.
# Lo que se deletrea fuera de un trabajo: un VIN, una matrícula, una orden, un código.
spell-order = Orden
spell-plate = Matrícula
spell-odometer = Cuentakilómetros
spell-code-before = Código antes del trabajo
spell-code-after = Código después del trabajo
spell-first-of-vin = VIN: deletrea los primeros { $count }, o escríbelo o escanéalo. Hecho lo deja fuera.
spell-next = Los { $count } siguientes.
spell-one-by-one = Entonces, signo a signo.
spell-some = { $what }: deletrea hasta { $count } signos cada vez, o escríbelo. Di hecho al final.
spell-more = Más, o hecho.
spell-back = { $signs }. ¿Sí o no?
spell-not-understood = No lo he entendido. Letras como alfa, bravo, charlie; cifras una a una; no más de { $count } juntas.
spell-never-in-vin = Ningún VIN tiene la letra { $letter }. Mira otra vez: puede ser un { $letter ->
        [I] 1
       *[other] 0
    }.
spell-check-digit = Según su dígito de control, un signo está mal. Otra vez desde el principio, o di alto y escríbelo.
spell-type-or-scan = Este oído ({ $ears }) no conoce el alfabeto de deletreo: escríbelo o escanéalo.
spell-left = Queda fuera. Se puede anotar más tarde: { $command }

# Cuál de los vehículos del taller es: se pregunta antes de un trabajo o de una visita.
listed-before-number = vehículo número
vehicle-row = { $place }  { $vehicle }  ({ $file })
vehicle-last = La última vez fue el { COUNT($place) }, { $vehicle }.
vehicle-ask = ¿Qué vehículo?
vehicle-said = { CAPITAL(COUNT($place)) }, { $vehicle }.
vehicle-more = O di continuar.
vehicle-back = { $vehicle }. ¿Sí o no?
vehicle-not-listed = Solo hay { COUNT($count) }.
vehicle-not-understood = No lo he entendido. Di su número, o deletrea cómo empieza: alfa, bravo, charlie.
vehicle-of-visit = Vehículo de esta visita: { $vehicle }.

# Una visita junto a la última del mismo coche.
# A visit that a job left open, told before the next job begins.
visit-open-said = El coche anterior no está terminado. Sin hacer: { LIST($left) }.
visit-open = La visita { $visit } sigue abierta. NO hecho en ese coche: { LIST($left) }. Para hacerlo: companion end-visit --visit { $visit }; si el coche ya salió: companion visit close { $visit }

visit-first-time = No hay aquí nada de la última visita de este coche con que comparar.
visit-beside = { $job }: { $before } junto a { $this }
visit-clock = Nada avaló el reloj de { $session }: su fecha puede estar mal.
