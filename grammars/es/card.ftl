# La tarjeta para la pared: lo que se puede decir, en una página impresa.

card-title = Lo que puedes decirle al programa
card-rule = El programa pregunta, tú contestas, y él repite lo que ha entendido. Un número solo cuenta con un sí. El silencio nunca es un sí.

card-answers = Respuestas
card-means-yes = Lo repetido, o propuesto, es correcto.
card-means-no = No es correcto; se pregunta otra vez.
card-means-done = Lo pedido está hecho.

card-numbers = Números
card-numbers-how = Cifra por cifra se entiende mejor. Con una dirección donde se pide, nunca más ni menos. La unidad puede faltar.
card-pair = Dos lecturas que se piden a la vez: di una tras otra, por ejemplo «{ $example }».
card-together = Dos o tres números repetidos juntos: «sí» a todos, «no» para oírlos uno por uno, o «la tercera es cuatro uno nueve».

card-commands = En cualquier momento
card-does-repeat = la pregunta otra vez, entera
card-does-wait = pausa; no se pierde nada
card-does-carry_on = seguir tras una pausa o una parada
card-does-go_back = retirar el último paso
card-does-stop = parar en el acto; todo se queda como está
card-does-end_job = tras una parada: terminar el trabajo sin resultado
card-does-what_can_i_say = lo que se puede decir aquí
card-does-where_are_we = la etapa y el paso
card-does-note = guardar una nota con el trabajo
card-does-louder = habla más fuerte
card-does-quieter = habla más bajo
card-does-slower = habla más despacio
card-does-faster = habla más rápido

card-tones = Tonos
card-tone-listening = Dos notas que suben: te toca.
card-tone-heard = Una nota corta y alta: entendido.
card-tone-refused = Dos notas bajas que caen: no entendido.

card-pedal = Pedal
card-pedal-once = Una pulsación: sí, hecho o continuar.
card-pedal-twice = Dos seguidas: no; si no se pide sí o no, repetir.
card-pedal-held = Un segundo pulsado: alto.

card-lost = Si no te oye
card-lost-say-in-full = Espera al tono. Di solo la respuesta.
card-lost-digits = Di los números cifra por cifra.
card-lost-nearer = Acércate al micrófono, o quita el ruido.
card-lost-type = Escríbelo, o pisa el pedal. Mira en la pantalla lo que se ha tomado.
