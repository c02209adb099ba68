-- One ward, and the role that its devices log in as. Give it a password afterwards, in psql: \password {login}
BEGIN;
CREATE ROLE {login} LOGIN IN ROLE prepkit_app;
SET LOCAL ROLE prepkit_owner;
INSERT INTO prepkit.ward (name) VALUES ({ward});
INSERT INTO prepkit.chain_end (ward, position, hash) SELECT id, 0, repeat('0', 64) FROM prepkit.ward WHERE name = {ward};
INSERT INTO prepkit.member (login, ward) SELECT {login_text}, id FROM prepkit.ward WHERE name = {ward};
COMMIT;
