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
mark-you = tú
screen-stage-number = { $number } de { $of }  { $title }

live-hearing-hung = Mi oído ha dejado de responder. Me reinicio; no se pierde nada.
live-voice-back = La voz ha vuelto.
live-voice-gone = No hay voz; lee las indicaciones en la pantalla. ({ $error })
live-words-left-out = { $ears } no conoce: { $words }. Lo que solo se puede decir con estas palabras se deja fuera; para todo hay otra forma.
live-waiting-for-device = { $error }. Espero a que se conecte.
live-microphone-gone = No hay micrófono ({ $name }): no llega sonido. Conéctalo, o escribe.
live-microphone-back = El micrófono ha vuelto.
live-disk-full = El disco está lleno. Espero a que haya sitio. No se pierde nada.
live-disk-has-room = Hay sitio en el disco otra vez.
live-clock-forward = El reloj de este ordenador saltó { $seconds } s hacia delante. El trabajo sigue; el registro lleva además un reloj que no salta.
live-clock-back = El reloj de este ordenador saltó { $seconds } s hacia atrás. El trabajo sigue; el registro lleva además un reloj que no salta.
live-session = Sesión { $session }.
live-next = El informe: { $report }. La firma: { $sign }
live-not-watched = En este trabajo no se miró si algo cambió: { $why }
live-example-files = FICHEROS DE EJEMPLO, NO VALORES DE UN FABRICANTE.
live-interrupted = Interrumpido; no se pierde nada. Para continuar: { $command }
live-visit = Visita { $visit }, sesión { $session }.
