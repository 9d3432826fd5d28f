"""One log's channels into samples of the airflow ratio, with the gates that reject some. Solves nothing."""
